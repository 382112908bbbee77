"""Where everything lies on a neck that is seen from the back of a room. Pure geometry, all lengths in cells.

The neck lies, string 1 on top; each fret space holds the mark of a finger that leaves and of one that comes.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.ui.board import blocks
from trainer.ui.board.window import Window

SCALES = (6, 5, 4, 3, 2)
"""Scales of a finger's number, largest first; below them the board of the drill screen serves."""
_NUMBER_ROWS = (3, 1)
"""Rows for fret numbers above the neck: big ones where there is room."""
_SLACK = 4
"""Strings lie no further apart than their marks are high and this."""


@dataclass(frozen=True, slots=True)
class Neck:
    """A neck in a picture of `width` by `height` cells."""

    width: int
    height: int
    scale: int
    """Of the number of a finger that comes or stays; a smaller one, where a finger leaves."""
    window: Window
    """The frets shown."""
    wires: tuple[int, ...]
    """Columns of the wire below each fret shown, the nut side first, then the wire of every fret."""
    lines: tuple[int, ...]
    """Rows of the strings, string 1 first."""
    head: int
    """Rows above the neck for fret numbers."""

    @property
    def mark(self) -> tuple[int, int]:
        """Columns and rows of the mark of a finger that comes or stays."""
        return mark_size(self.scale)

    @property
    def leaving(self) -> tuple[int, int]:
        """The same of a finger that leaves."""
        return mark_size(self.scale - 1)

    def going_to(self, string: int, fret: int) -> tuple[int, int]:
        """Return the middle of the mark of a finger that will be there: next to the fret."""
        right = self.wires[fret - self.window.first + 1]
        return right - self._margin(fret) - (self.mark[0] - self.mark[0] // 2), self.lines[string - 1]

    def coming_from(self, string: int, fret: int) -> tuple[int, int]:
        """Return the middle of the mark of a finger that was there: on the nut's side."""
        left = self.wires[fret - self.window.first]
        return left + 1 + self._margin(fret) + self.leaving[0] // 2, self.lines[string - 1]

    def _margin(self, fret: int) -> int:
        index = fret - self.window.first
        space = self.wires[index + 1] - self.wires[index] - 1
        return (space - self.mark[0] - self.leaving[0]) // 3


def mark_size(scale: int) -> tuple[int, int]:
    """Return columns and rows of a mark: the number, a column of ground and the sign's edge on either side."""
    width, height = blocks.size(scale)
    return width + 2 * (edge(scale) + 1), height


def edge(scale: int) -> int:
    """Return the columns of a sign's edge."""
    return max(scale - 1, 1)


def edge_width(scale: int) -> int:
    """Return the columns beside the nut that say whether a string is open or not played."""
    return blocks.size(scale - 1)[0] + 4


def lay_out(width: int, height: int, strings: int, window: Window) -> Neck | None:
    """Return the neck with the largest marks that fit, None where not even the smallest do."""
    for scale in SCALES:
        for head in _NUMBER_ROWS:
            neck = _at(scale, head, width, height, strings, window)
            if neck is not None:
                return neck
    return None


def _at(scale: int, head: int, width: int, height: int, strings: int, window: Window) -> Neck | None:
    mark, leaving = mark_size(scale), mark_size(scale - 1)
    least = mark[0] + leaving[0] + scale
    space = min((width - edge_width(scale) - 1) // window.count - 1, 2 * least)
    # The row below the fret numbers belongs to the rims of marks on string 1; a rim at the foot may be left out.
    pitch = min((height - head - 1 - mark[1]) // (strings - 1), mark[1] + _SLACK)
    if space < least or pitch <= mark[1]:
        return None
    wires = tuple(edge_width(scale) + (space + 1) * number for number in range(window.count + 1))
    lines = tuple(head + 1 + mark[1] // 2 + pitch * number for number in range(strings))
    foot = min(lines[-1] - mark[1] // 2 + mark[1] + 1, height)
    return Neck(wires[-1] + 1, foot, scale, window, wires, lines, head)
