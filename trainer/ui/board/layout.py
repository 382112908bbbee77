"""Where everything on the board lies: columns of frets, rows of strings, sizes of marks. Pure geometry.

`along` runs along the strings from the nut, `across` from one string to the next; on a lying neck along is x and
across is y, on an upright one the other way round. All lengths are cells.

Fret spaces are even, not in proportion to real frets: within one hand's frets these differ by less than a fifth,
which the eye hardly sees, and even spaces leave the tightest one the most room for its marks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from trainer.ui.board.window import FEW, Window

Point: TypeAlias = tuple[int, int]
"""(column, row) from the top left."""


@dataclass(frozen=True, slots=True)
class Tier:
    """One size of marks."""

    mark: tuple[int, int]
    """Width and height of the mark where a finger is going to be."""
    leaving: tuple[int, int]
    """Width and height of the mark where a finger was."""
    gap: int
    """Cells at least between the two marks of one fret space."""
    pitch: int
    """Rows from string to string that it needs on a lying neck."""
    easy: int
    """Width of a fret space that needs no more."""
    end: int
    """Columns beyond the last fret of a lying neck, for what a string does."""
    single: bool = False
    """True where a fret space holds one mark only."""

    def least(self, upright: bool) -> int:
        """Return the shortest fret space that holds its marks, the wire not counted."""
        axis = 1 if upright else 0
        if self.single:
            return self.mark[axis]
        return self.mark[axis] + self.leaving[axis] + (0 if upright else self.gap)


TIERS = (
    Tier((7, 3), (5, 1), 2, 3, 17, 6),
    Tier((5, 3), (3, 1), 1, 3, 13, 6),
    Tier((5, 1), (3, 1), 2, 1, 13, 3),
    Tier((3, 1), (3, 1), 1, 1, 9, 3),
    Tier((3, 1), (3, 1), 0, 1, 5, 3, single=True),
)
"""Largest first."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything lies in a picture of `width` by `height` cells."""

    width: int
    height: int
    upright: bool
    """True: the nut on top; False: the nut on the left."""
    tier: Tier
    window: Window
    wires: tuple[int, ...]
    """Along: the wire below each fret shown, the nut side first, then the wire of every fret."""
    lines: tuple[int, ...]
    """Across: strings 1 to n."""
    label: int
    """Cells that a string's label takes."""

    def at(self, along: int, across: int) -> Point:
        """Return the cell at a place along and across."""
        return (across, along) if self.upright else (along, across)

    @property
    def pitch(self) -> int:
        """Cells from one string to the next."""
        return abs(self.lines[1] - self.lines[0])

    def inner(self, fret: int) -> tuple[int, int]:
        """Return the first and last cell along within the space of `fret`, wires left out."""
        index = fret - self.window.first
        return self.wires[index] + 1, self.wires[index + 1] - 1

    def middle(self, fret: int) -> int:
        """Return the cell along in the middle of the space of `fret`."""
        low, high = self.inner(fret)
        return (low + high) // 2

    def going_to(self, string: int, fret: int) -> Point:
        """Return the centre of the mark of a finger that will be there: next to the fret, where it presses best."""
        _, high = self.inner(fret)
        size = self._along(self.tier.mark)
        return self.at(high - self._margin(fret) - size // 2, self.lines[string - 1])

    def coming_from(self, string: int, fret: int) -> Point:
        """Return the centre of the mark of a finger that was there: on the nut's side of where it will be."""
        low, _ = self.inner(fret)
        margin = self._margin(fret)
        size = self._along(self.tier.mark if self.tier.single else self.tier.leaving)
        return self.at(low + margin + size // 2, self.lines[string - 1])

    def _margin(self, fret: int) -> int:
        low, high = self.inner(fret)
        used = self._along(self.tier.mark)
        if self.tier.single:
            return (high - low + 1 - used) // 2
        return (high - low + 1 - used - self._along(self.tier.leaving)) // 3

    def _along(self, size: tuple[int, int]) -> int:
        return size[1] if self.upright else size[0]


@dataclass(frozen=True, slots=True)
class Neck:
    """What the layout must know of the instrument."""

    strings: int
    """How many."""
    label: int
    """Cells that the longest string label takes."""
    top_fret: int
    """The highest fret there is, counted from the capo."""


EDGE = 4
"""Cells along, on the nut's side of a lying neck, for the open and unplayed strings."""
GUTTER = 7
"""Cells across, beside an upright neck, for fret numbers and position."""
HEAD = 1
"""Rows above a lying neck for fret numbers and position; tall marks get one more where there is room."""
UPRIGHT_EDGE, UPRIGHT_END = 2, 1
"""Rows above the nut of an upright neck (label, open string) and below its last fret."""


def lay_out(width: int, height: int, neck: Neck, window: Window, upright: bool = False) -> Layout | None:
    """Return the layout with the largest marks that fit the room, None where none does."""
    lay = _upright if upright else _lying
    return next((layout for tier in TIERS for layout in lay(tier, width, height, neck, window)), None)


def _lying(tier: Tier, width: int, height: int, neck: Neck, window: Window) -> Iterator[Layout]:
    before, after = neck.label + EDGE, tier.end
    pitch = next((rows for rows in (4, 3, 2, 1) if _rows(rows, tier, neck) + HEAD <= height), 0)
    if pitch < tier.pitch:
        return
    wires = _wires(before, width - before - after, tier, tier.least(upright=False), neck, window)
    if wires is None:
        return
    shown = Window(window.first, window.first + len(wires) - 2)
    used = _rows(pitch, tier, neck)
    head = min(height - used, HEAD + tier.mark[1] // 2)
    top = head + tier.mark[1] // 2
    lines = tuple(top + pitch * index for index in range(neck.strings))
    yield Layout(wires[-1] + 1 + after, used + head, False, tier, shown, wires, lines, neck.label)


def _rows(pitch: int, tier: Tier, neck: Neck) -> int:
    return pitch * (neck.strings - 1) + tier.mark[1]


def _upright(tier: Tier, width: int, height: int, neck: Neck, window: Window) -> Iterator[Layout]:
    pitch = min((width - GUTTER - tier.mark[0]) // (neck.strings - 1), tier.mark[0] + 3)
    if pitch <= tier.mark[0]:
        return
    room = height - UPRIGHT_EDGE - UPRIGHT_END
    wires = _wires(UPRIGHT_EDGE, room, tier, tier.least(upright=True), neck, window)
    if wires is None:
        return
    shown = Window(window.first, window.first + len(wires) - 2)
    left = GUTTER + tier.mark[0] // 2
    lines = tuple(left + pitch * (neck.strings - string) for string in range(1, neck.strings + 1))
    wide = lines[0] + tier.mark[0] // 2 + 1
    yield Layout(wide, wires[-1] + 1 + UPRIGHT_END, True, tier, shown, wires, lines, neck.label)


def _wires(start: int, room: int, tier: Tier, least: int, neck: Neck, window: Window) -> tuple[int, ...] | None:
    """Return where the wires lie, the window grown towards the bridge where the room is ample; None: no room."""
    room -= 1
    if room < window.count * (least + 1):
        return None
    easy = max(tier.easy, least + 1) if start > UPRIGHT_EDGE else least + 2
    ample = min(room // easy, FEW, neck.top_fret - window.first + 1)
    count = max(window.count, ample)
    size = min(room // count, 2 * easy)
    spare = min(room - size * count, count) if size < 2 * easy else 0
    wires = [start]
    for index in range(count):
        wires.append(wires[-1] + size + (1 if index < spare else 0))
    return tuple(wires)
