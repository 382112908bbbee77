"""A shape as an upright diagram with the ways its fingers come: marks on a grid, whatever they are drawn with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from trainer.fretboard.shape import Shape
from trainer.hand.change import Action, Change, Place

FEWEST = 4
"""Frets that a diagram shows at least."""
MOST = 7
"""Frets that it shows at most, for the sake of where a finger comes from; a shape may need more."""
NUT_UP_TO = 5
"""A shape that reaches no higher than this fret is shown from the nut on."""


class Kind(StrEnum):
    """What a mark says."""

    MUTED = "muted"
    """A string that is neither held nor played."""
    OPEN = "open"
    """An open string."""
    BARRE = "barre"
    """A finger across strings."""
    FINGER = "finger"
    """A fingertip; it sounds."""
    RESTING = "resting"
    """A fingertip that holds a string which is not played."""
    GUIDE = "guide"
    """The way of a finger that slides along its string."""
    CROSS = "cross"
    """The way of a finger to another string."""
    LEFT = "left"
    """A place that a finger leaves for good."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark."""

    kind: Kind
    """What it says."""
    string: int
    """Its string; of a barre the one at its bass end."""
    fret: int = 0
    """Its fret; 0 beyond the nut."""
    finger: int | None = None
    """The finger; None where there is none or none is given."""
    kept: bool = False
    """True where the finger stays down from the shape before."""
    to_string: int = 0
    """Of a barre the string at its treble end; of a way the string that it leads from; else 0."""
    from_fret: int = 0
    """Of a way the fret that it leads from; else 0."""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A piece of the neck with marks on it."""

    strings: int
    """How many strings."""
    first: int
    """The first fret that is shown; 1: the nut is seen."""
    frets: int
    """How many frets are shown."""
    marks: tuple[Mark, ...]
    """In the order in which they are to be drawn, ways first."""

    @property
    def last(self) -> int:
        """The last fret that is shown."""
        return self.first + self.frets - 1


def diagram(shape: Shape, change: Change | None = None) -> Diagram:
    """Return the diagram of `shape`; with the `change` that leads to it, how each finger comes or goes."""
    ways = tuple(_ways(change)) if change is not None else ()
    kept = frozenset(move.finger for move in change.doing(Action.KEPT)) if change is not None else frozenset()
    marks = (*ways, *_barres(shape, kept), *_stops(shape, kept))
    first, frets = _window(shape, ways)
    return Diagram(shape.strings, first, frets, marks)


def _ways(change: Change) -> Iterator[Mark]:
    for move in change.moves:
        if move.action is Action.LIFT and move.start is not None and move.start[1] > 0:
            yield Mark(Kind.LEFT, *move.start, finger=move.finger)
        elif move.action in {Action.GUIDE, Action.CROSS} and move.start is not None and move.end is not None:
            kind = Kind.GUIDE if move.action is Action.GUIDE else Kind.CROSS
            yield _way(kind, move.finger, move.start, move.end)


def _way(kind: Kind, finger: int, start: Place, end: Place) -> Mark:
    return Mark(kind, *end, finger=finger, to_string=start[0], from_fret=start[1])


def _barres(shape: Shape, kept: frozenset[int]) -> Iterator[Mark]:
    for barre in shape.barres:
        yield Mark(
            Kind.BARRE, barre.low_string, barre.fret, barre.finger, barre.finger in kept, to_string=barre.high_string
        )


def _stops(shape: Shape, kept: frozenset[int]) -> Iterator[Mark]:
    barring = {barre.finger for barre in shape.barres}
    for string in range(shape.strings, 0, -1):
        stop = shape[string]
        if stop is None:
            yield Mark(Kind.MUTED, string)
        elif not stop.stopped:
            yield Mark(Kind.OPEN, string)
        elif stop.finger not in barring or stop.finger is None:
            kind = Kind.RESTING if stop.silent else Kind.FINGER
            yield Mark(kind, string, stop.fret, stop.finger, stop.finger in kept)


def _window(shape: Shape, ways: tuple[Mark, ...]) -> tuple[int, int]:
    """Return the first fret shown and how many: all of the shape, and where fingers come from where there is room."""
    own = shape.frets
    if not own:
        return 1, FEWEST
    low, high = min(own), max(own)
    for fret in sorted({mark.from_fret or mark.fret for mark in ways}, key=lambda fret: abs(fret - low)):
        if max(high, fret) - min(low, fret) < MOST:
            low, high = min(low, fret), max(high, fret)
    if high <= NUT_UP_TO:
        return 1, max(FEWEST, high)
    return low, max(FEWEST, high - low + 1)
