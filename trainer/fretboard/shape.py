"""A shape: what the fretting hand holds on each string, silent fingers and barres included.

A shape that contradicts itself cannot be made: the constructor refuses a finger at two frets, an open string
under a barre, and a fret that a barre would cut off. What an instrument or a hand has to say of it (too few
strings, too wide a stretch) is in `trainer.hand.hold`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from trainer.errors import wrong

FINGERS = (1, 2, 3, 4)
"""Index, middle, ring and little finger of the fretting hand."""
HIGHEST_FRET = 36
"""The highest fret any shape can name."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One string that is not muted: open or stopped at a fret."""

    fret: int
    """0 is the open string; counted from the capo."""
    finger: int | None = None
    """1 to 4; None for an open string, or where no finger is given."""
    silent: bool = False
    """True where a finger holds the string without its being played (planted early, resting)."""

    @property
    def stopped(self) -> bool:
        """True where a finger presses the string."""
        return self.fret > 0


@dataclass(frozen=True, slots=True, order=True)
class Barre:
    """One finger across strings at one fret."""

    finger: int
    """1 to 4."""
    fret: int
    """Counted from the capo."""
    low_string: int
    """The string at its bass end, the larger number."""
    high_string: int
    """The string at its treble end, the smaller number."""

    @property
    def strings(self) -> range:
        """The strings it lies across, from the treble end."""
        return range(self.high_string, self.low_string + 1)

    @property
    def width(self) -> int:
        """How many strings it lies across."""
        return len(self.strings)


@dataclass(frozen=True, slots=True)
class Placing:
    """Where one finger is: its fret and every string it lies on."""

    finger: int
    """1 to 4."""
    fret: int
    """Counted from the capo."""
    anchor: int
    """The string it counts by: the lowest-sounding one it holds."""
    strings: range
    """Every string it lies across, from the treble end; one string unless it is a barre."""

    @property
    def is_barre(self) -> bool:
        """True where it lies across more than one string."""
        return len(self.strings) > 1

    @property
    def barre(self) -> Barre:
        """Its extent as a barre; a single string is a barre of width 1."""
        return Barre(self.finger, self.fret, self.strings[-1], self.strings[0])

    @property
    def place(self) -> tuple[int, int]:
        """(string, fret) it counts by."""
        return self.anchor, self.fret


@dataclass(frozen=True)
class Shape:
    """What the fretting hand holds. Immutable; equal where every string and every declared barre is equal."""

    stops: tuple[Stop | None, ...]
    """One entry a string, last string first as players write it; None is neither held nor played."""
    declared: tuple[Barre, ...] = ()
    """Barres that reach further than the strings written with their finger."""

    def __post_init__(self) -> None:
        """Refuse a shape that contradicts itself."""
        if not self.stops:
            raise wrong("a shape without strings")
        for string, stop in self:
            _check_stop(string, stop)
        for barre in self.declared:
            _check_declared(barre, self.strings)
        _check_one_fret_a_finger(self)
        _check_under_barres(self)

    @property
    def strings(self) -> int:
        """Number of strings."""
        return len(self.stops)

    def __getitem__(self, string: int) -> Stop | None:
        """Return what string `string` (1 nearest the floor) holds; None where it is muted."""
        return self.stops[self.strings - string]

    def __iter__(self) -> Iterator[tuple[int, Stop]]:
        """Yield (string, stop) of each string that is not muted, last string first."""
        for index, stop in enumerate(self.stops):
            if stop is not None:
                yield self.strings - index, stop

    @cached_property
    def placings(self) -> dict[int, Placing]:
        """Each placed finger with where it is, by finger number."""
        written: dict[int, list[int]] = {}
        frets: dict[int, int] = {}
        for string, stop in self:
            if stop.finger is not None:
                written.setdefault(stop.finger, []).append(string)
                frets[stop.finger] = stop.fret
        reach = {barre.finger: barre for barre in self.declared}
        frets.update({barre.finger: barre.fret for barre in self.declared})
        placings = {}
        for finger in sorted(frets):
            held = written.get(finger, [])
            sounding = [string for string in held if not _silent(self[string])]
            ends = [*held, reach[finger].low_string, reach[finger].high_string] if finger in reach else held
            anchor = max(sounding or held or ends)
            placings[finger] = Placing(finger, frets[finger], anchor, range(min(ends), max(ends) + 1))
        return placings

    @cached_property
    def barres(self) -> tuple[Barre, ...]:
        """Every finger that lies across more than one string, in finger order."""
        return tuple(placing.barre for placing in self.placings.values() if placing.is_barre)

    @cached_property
    def fingered(self) -> bool:
        """True where every stopped string says which finger stops it."""
        return all(stop.finger is not None for _, stop in self if stop.stopped)

    @property
    def sounding(self) -> tuple[int, ...]:
        """The strings that are played, last string first."""
        return tuple(string for string, stop in self if not stop.silent)

    @property
    def frets(self) -> tuple[int, ...]:
        """Every fret that a finger holds, lowest first, without doubles."""
        held = {stop.fret for _, stop in self if stop.stopped} | {barre.fret for barre in self.declared}
        return tuple(sorted(held))

    def is_full(self, barre: Barre) -> bool:
        """True where `barre` lies across all strings of the instrument; a half barre lies across fewer."""
        return barre.width == self.strings


def _silent(stop: Stop | None) -> bool:
    return stop is None or stop.silent


def _check_stop(string: int, stop: Stop) -> None:
    where = f"string {string}"
    if not 0 <= stop.fret <= HIGHEST_FRET:
        raise wrong(f"{where} at fret {stop.fret}", hint=f"frets go from 0 (open) to {HIGHEST_FRET}")
    if stop.finger is not None and stop.finger not in FINGERS:
        raise wrong(f"{where} by finger {stop.finger}", hint="fingers go from 1 (index) to 4 (little finger)")
    if not stop.stopped and (stop.finger is not None or stop.silent):
        raise wrong(f"{where} is open and held at once", hint="an open string has no finger: write 0")


def _check_declared(barre: Barre, strings: int) -> None:
    if barre.finger not in FINGERS or not 1 <= barre.fret <= HIGHEST_FRET:
        raise wrong(f"a barre of finger {barre.finger} at fret {barre.fret}", hint="fingers 1 to 4, fret 1 or more")
    if not 1 <= barre.high_string < barre.low_string <= strings:
        raise wrong(
            f"a barre from string {barre.low_string} to {barre.high_string}",
            hint=f"from the bass end to the treble end, within strings {strings} to 1",
        )


def _check_one_fret_a_finger(shape: Shape) -> None:
    frets: dict[int, int] = {barre.finger: barre.fret for barre in shape.declared}
    if len(frets) < len(shape.declared):
        raise wrong("two barres by one finger", hint="a finger lies across one run of strings")
    for string, stop in shape:
        if stop.finger is not None and frets.setdefault(stop.finger, stop.fret) != stop.fret:
            raise wrong(
                f"finger {stop.finger} is at fret {frets[stop.finger]} and, on string {string}, at fret {stop.fret}",
                hint="one finger holds one fret",
            )


def _check_under_barres(shape: Shape) -> None:
    for barre in shape.barres:
        for string in barre.strings:
            stop = shape[string]
            if stop is None or stop.fret >= barre.fret:
                continue
            what = "is open" if not stop.stopped else f"at fret {stop.fret} lies"
            raise wrong(
                f"string {string} {what} under finger {barre.finger}, which lies across "
                f"strings {barre.low_string} to {barre.high_string} at fret {barre.fret}",
                hint="it could not sound; use another finger, or mute it with x",
            )
