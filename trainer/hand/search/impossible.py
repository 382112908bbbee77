"""Why a slice cannot be taken, and the nearest thing that can."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from trainer.hand.reach import Hand
from trainer.hand.search.grips import Wanted, grips, spots
from trainer.hand.search.passage import Note, Passage


@dataclass(frozen=True, slots=True)
class Impossible:
    """A slice whose notes this hand cannot take together."""

    index: int
    """Which slice."""
    onset: Fraction
    """When it is, in quarter notes from the start of the passage."""
    bar: int | None
    """The bar it stands in; None where not known."""
    notes: tuple[str, ...]
    """The notes struck, by name."""
    why: str
    """What stands against it."""
    nearest: str
    """The nearest thing that can be had."""


def explain(passage: Passage, hand: Hand, index: int) -> Impossible:
    """Return why the notes of slice `index` cannot be taken and what could be instead."""
    piece = passage.slices[index]
    notes = [passage.notes[note] for note in piece.struck]
    why, nearest = _reason(notes, passage, hand)
    return Impossible(index, piece.onset, notes[0].bar, tuple(note.name for note in notes), why, nearest)


def _reason(notes: list[Note], passage: Passage, hand: Hand) -> tuple[str, str]:
    instrument = passage.instrument
    for note in notes:
        if not spots(Wanted.of(note), instrument):
            return _nowhere(note, passage)
    free = [replace(note, string=None, fret=None, finger=None, stopped=False) for note in notes]
    if _possible(free, passage, hand):
        return "what is set cannot be held together", _loosened(notes, passage, hand)
    if len(notes) > instrument.strings:
        return f"{len(notes)} notes on {instrument.strings} strings", _dropped(free, passage, hand)
    if _possible(free, passage, hand.scaled(_WIDE)):
        return "the fingers would be further apart than this hand reaches", _dropped(free, passage, hand)
    return "no four fingers can stop them together", _dropped(free, passage, hand)


_WIDE = 1.6
"""A hand so many times as wide shows that it was the reach that failed."""


def _nowhere(note: Note, passage: Passage) -> tuple[str, str]:
    instrument = passage.instrument
    bare = replace(note, string=None, fret=None, finger=None, stopped=False)
    places = spots(Wanted.of(bare), instrument)
    if places:
        where = ", ".join(
            f"string {string} fret {fret}" if fret else f"string {string} open" for string, fret in places
        )
        return f"{note.name} cannot be had as it is set", f"it lies at {where}"
    lowest = min(instrument.pitch(string, 0) for string in range(1, instrument.strings + 1))
    if note.midi < lowest:
        return f"{note.name} is lower than the lowest string", "play it an octave higher or leave it out"
    return f"{note.name} is not on the neck", "play it an octave lower or leave it out"


def _possible(notes: list[Note], passage: Passage, hand: Hand) -> bool:
    if hand.largest[0] > _LARGEST:
        return False
    return bool(notes) and len(grips(tuple(map(Wanted.of, notes)), frozenset(), passage.instrument, hand)) > 0


_LARGEST = 300.0
"""Reach in mm that no hand exceeds."""


def _dropped(notes: list[Note], passage: Passage, hand: Hand) -> str:
    """Return which one note to leave out, an inner one before the bass before the melody."""
    inner = range(1, len(notes) - 1)
    for leave in (*inner, 0, len(notes) - 1):
        if _possible(notes[:leave] + notes[leave + 1 :], passage, hand):
            return f"leave out {notes[leave].name}"
    return "leave out more than one note, or play them in turn"


def _loosened(notes: list[Note], passage: Passage, hand: Hand) -> str:
    """Return which one pin to let go."""
    for index, note in enumerate(notes):
        for words, loose in (
            ("the finger", replace(note, finger=None)),
            ("the string", replace(note, string=None, fret=None)),
            ("all that is set", replace(note, finger=None, string=None, fret=None, stopped=False)),
        ):
            if loose != note and _possible([*notes[:index], loose, *notes[index + 1 :]], passage, hand):
                return f"let go {words} of {note.name}"
    return "let go what is set of more than one note"
