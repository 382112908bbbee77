"""What each finger does in a change, one line each; and how the open strings are tuned."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import MappingProxyType

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import frequency
from trainer.hand.change import Action, Change, Move, Place, Reach
from trainer.practice.passage import Passing
from trainer.ui.board.marks import ARRIVALS, Glyphs, Sign

_COLUMN_ROWS = 3
"""Strings below each other in the list of open strings."""


@dataclass(frozen=True, slots=True)
class Line:
    """One finger: its mark as on the board, and what it does."""

    mark: str
    """Three cells; blank where the board shows nothing of it."""
    parts: tuple[str, ...]
    """A clause without a full stop, then what may be left out where there is no room for it."""
    action: Action
    """What it does, for the colour."""

    @property
    def text(self) -> str:
        """All of it."""
        return "".join(self.parts)


_NOWHERE: Place = (0, 0)
_DOES: MappingProxyType[Action, Callable[[Place, Place], str]] = MappingProxyType(
    {
        Action.KEPT: lambda start, end: f"stays on string {end[0]} at fret {end[1]}",
        Action.GUIDE: lambda start, end: f"slides along string {start[0]} from fret {start[1]} to {end[1]}",
        Action.SWAP: lambda start, end: f"takes over string {end[0]} at fret {end[1]} while it sounds",
        Action.CROSS: lambda start, end: (
            f"crosses from string {start[0]} fret {start[1]} to string {end[0]} fret {end[1]}"
        ),
        Action.PLACE: lambda start, end: f"comes down on string {end[0]} at fret {end[1]}",
        Action.LIFT: lambda start, end: f"comes off string {start[0]}",
        Action.FREE: lambda start, end: "rests",
        Action.UNKNOWN: lambda start, end: "not said in this shape",
    }
)
"""What a finger does, from where it was and where it comes to."""

_REACHES = MappingProxyType({Reach.BACK: ", reaching back", Reach.FORWARD: ", reaching forward"})


def fingers(passing: Passing, glyphs: Glyphs) -> tuple[Line, ...]:
    """Return a line for each finger, 1 to 4."""
    change = passing.change
    return tuple(Line(_mark(move, glyphs), tuple(_parts(move, change)), move.action) for move in change.moves)


def _mark(move: Move, glyphs: Glyphs) -> str:
    sign = Sign.LIFT if move.action is Action.LIFT else ARRIVALS.get(move.action)
    if sign is None:
        return "   "
    sample = glyphs.mark(sign)
    return f"{sample[0]}{move.finger}{sample[2]}"


def _parts(move: Move, change: Change) -> Iterator[str]:
    yield f"{move.finger} {_DOES[move.action](move.start or _NOWHERE, move.end or _NOWHERE)}"
    if move.mm is not None and move.action in {Action.GUIDE, Action.CROSS}:
        yield f", {abs(move.mm):.0f} mm"
    if move.reach is not None and move.reach in _REACHES:
        yield _REACHES[move.reach]
    if move.finger == change.watch:
        yield "; watch it"


def tuning(instrument: Instrument) -> tuple[str, ...]:
    """Return a caption and three rows with note name and frequency of every open string, the last string first."""
    names = instrument.tuning_names
    cells = [
        f"{len(names) - index:>2} {name:<3}{frequency(number):>7.2f} Hz"
        for index, (name, number) in enumerate(zip(names, instrument.tuning, strict=True))
    ]
    capo = f", capo {instrument.capo} taken off" if instrument.capo else ""
    rows = ("    ".join(cells[row::_COLUMN_ROWS]) for row in range(_COLUMN_ROWS))
    return (f"open strings, A4 = 440 Hz{capo}", *rows)
