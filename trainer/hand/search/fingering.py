"""A way through a passage, as values: where each note is taken, what the hand holds, what each change costs and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.hand.search.passage import Passage


@dataclass(frozen=True, slots=True)
class Taken:
    """How one note is taken."""

    string: int
    """The string it is played on."""
    fret: int
    """0 where it is open."""
    finger: int
    """0 where it is open."""


@dataclass(frozen=True, slots=True)
class Lying:
    """Where one finger lies at one moment."""

    finger: int
    """1 to 4."""
    fret: int
    """Counted from the capo."""
    low_string: int
    """The string at its bass end, the larger number."""
    high_string: int
    """The same as `low_string` for a fingertip."""
    sounding: bool
    """False where it rests: no string under it at its fret is struck or sounds on."""

    @property
    def barre(self) -> Barre | None:
        """Its extent, None for a fingertip."""
        if self.low_string == self.high_string:
            return None
        return Barre(self.finger, self.fret, self.low_string, self.high_string)


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that one change costs, or saves."""

    term: str
    """Name in the table of terms, or of a fitted table."""
    amount: float
    """In the term's unit."""
    cost: float
    """Weight times amount."""
    finger: int | None = None
    """The finger it is about; None: the hand or the shape."""
    start: tuple[int, int] | None = None
    """(string, fret) that finger comes from."""
    end: tuple[int, int] | None = None
    """(string, fret) that finger comes to."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What the hand does for one slice."""

    onset: Fraction
    """When, in quarter notes from the start of the passage."""
    hands: tuple[Lying, ...]
    """Every finger that lies somewhere once it is done."""
    position: int | None
    """Where the hand is; None before it has taken any."""
    reasons: tuple[Reason, ...]
    """What it costs, dearest first; nothing that costs nothing."""

    @property
    def cost(self) -> float:
        """What it costs in all."""
        return sum(reason.cost for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Fingering:
    """One way through a passage."""

    passage: Passage
    """What is fingered."""
    notes: tuple[Taken, ...]
    """One for each note of the passage."""
    moves: tuple[Moved, ...]
    """One for each slice."""
    cost: float
    """What it was sought by: the sum over all slices, or the dearest one."""

    @property
    def total(self) -> float:
        """The sum over all slices."""
        return sum(move.cost for move in self.moves)

    @property
    def worst(self) -> int:
        """The slice that costs most."""
        return max(range(len(self.moves)), key=lambda index: self.moves[index].cost)

    @property
    def places(self) -> dict[tuple[Fraction, int], list[Taken]]:
        """How the notes struck at an onset with a pitch (MIDI) are taken: one of each string of a unison."""
        found: dict[tuple[Fraction, int], list[Taken]] = {}
        for note, taken in zip(self.passage.notes, self.notes, strict=True):
            found.setdefault((note.onset, note.midi), []).append(taken)
        return found

    def shape(self, index: int) -> Shape:
        """Return what the hand holds at a slice: strings struck or sounding, and resting fingers silent."""
        piece, move = self.passage.slices[index], self.moves[index]
        count = self.passage.instrument.strings
        stops: list[Stop | None] = [None] * count
        for note in piece.struck:
            taken = self.notes[note]
            stops[count - taken.string] = Stop(taken.fret, taken.finger or None)
        for note in piece.held:
            taken = self.notes[note]
            if stops[count - taken.string] is None and self.still(index, note):
                stops[count - taken.string] = Stop(taken.fret, taken.finger or None)
        barres = []
        for lying in move.hands:
            own = range(lying.high_string, lying.low_string + 1)
            if any((stop := stops[count - string]) is not None and stop.fret < lying.fret for string in own):
                continue
            if lying.barre is not None:
                barres.append(lying.barre)
            elif stops[count - lying.low_string] is None:
                stops[count - lying.low_string] = Stop(lying.fret, lying.finger, silent=True)
        return shape_of(stops, barres)

    def still(self, index: int, note: int) -> bool:
        """Tell whether a note struck before sounds on at a slice: its string and finger left alone."""
        taken, first = self.notes[note], self.passage.notes[note].onset
        for at, piece in enumerate(self.passage.slices[: index + 1]):
            if piece.onset <= first:
                continue
            if any(self.notes[other].string == taken.string for other in piece.struck):
                return False
            over = [lying for lying in self.moves[at].hands if lying.high_string <= taken.string <= lying.low_string]
            if taken.finger == 0 and over:
                return False
            if taken.finger and not any((o.finger, o.fret) == (taken.finger, taken.fret) for o in over):
                return False
        return True


def shape_of(stops: Iterable[Stop | None], barres: Iterable[Barre]) -> Shape:
    """Return the shape of `stops`; of `barres`, only those that reach further than the strings written are declared."""
    written = Shape(tuple(stops))
    return Shape(written.stops, tuple(barre for barre in barres if barre not in written.barres))
