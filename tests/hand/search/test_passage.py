"""What is struck, held and left to ring at each moment, and what makes no passage."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.hand.search.building import notes, passage
from trainer.errors import ChangeoverError
from trainer.fretboard.pitch import midi
from trainer.hand.search.passage import Note, Passage


def _names(whole: Passage, which: tuple[int, ...]) -> str:
    return " ".join(whole.notes[index].name for index in which)


def test_a_long_note_is_held_until_it_ends() -> None:
    long = Note(Fraction(0), Fraction(2), midi("C3"))
    whole = Passage.of([long, *notes("E4 F4 G4")])
    assert [_names(whole, piece.held) for piece in whole.slices] == ["", "C3", ""]
    assert [_names(whole, piece.struck) for piece in whole.slices] == ["C3 E4", "F4", "G4"]


RINGS = (
    ("C3 E3 G3 C4", ["", "C3", "C3 E3", "C3 E3 G3"], "a broken chord rings"),
    ("C4 D4 E4 F4", ["", "", "", ""], "a line does not: each note is left for the next"),
    ("C3 G3 C3 G3", ["", "C3", "G3", "C3"], "a note struck again begins anew"),
)


@pytest.mark.parametrize(("text", "rings", "why"), RINGS)
def test_what_is_over_as_written_rings_where_a_hand_would_let_it(text: str, rings: list[str], why: str) -> None:
    whole = passage(text, Fraction(1, 4))
    found = [_names(whole, piece.ringing) for piece in whole.slices]
    assert found == rings, why


def test_a_ring_ends_within_two_quarters_but_for_notes_that_ask_for_it() -> None:
    whole = passage("C3 G3 E4 G3 E4 G3", Fraction(1, 2))
    assert ["C3" in _names(whole, piece.ringing) for piece in whole.slices] == [False, True, True, True, False, False]
    asked = Passage.of(Note(n.onset, n.duration, n.midi, ring=n.midi == midi("C3")) for n in whole.notes)
    assert ["C3" in _names(asked, piece.ringing) for piece in asked.slices] == [False, True, True, True, True, False]


WRONG = (
    (Note(Fraction(0), Fraction(0), 60), "lasts 0"),
    (Note(Fraction(0), Fraction(1), 60, string=7), "on string 7"),
    (Note(Fraction(0), Fraction(1), 60, finger=5), "by finger 5"),
    (Note(Fraction(0), Fraction(1), 60, string=2, fret=3), "at string 2, fret 3"),
)


@pytest.mark.parametrize(("note", "said"), WRONG)
def test_a_note_that_makes_no_sense_is_refused(note: Note, said: str) -> None:
    with pytest.raises(ChangeoverError, match=said):
        Passage.of([note])


def test_nothing_is_no_passage() -> None:
    with pytest.raises(ChangeoverError, match="without notes"):
        Passage.of([])
