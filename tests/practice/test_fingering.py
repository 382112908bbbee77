"""Between a drill and a passage: what its notes are, what is set of them, and a fingering written back into shapes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.hand.search.building import found
from trainer.errors import ChangeoverError
from trainer.files.library import find
from trainer.hand.search.passage import Passage
from trainer.practice.fingering import Keep, costs_of, fingered, moves_of, passage_of, spans_of
from trainer.practice.quick import from_shapes


def test_a_block_drill_becomes_chords_a_bar_each() -> None:
    passage = passage_of(from_shapes(["C", "F"]))
    assert [piece.onset for piece in passage.slices] == [0, 4]
    assert [len(piece.struck) for piece in passage.slices] == [5, 6]
    assert {note.duration for note in passage.notes} == {4}
    assert {note.bar for note in passage.notes} == {1, 2}


def test_a_figure_rings_on_within_its_shape() -> None:
    passage = passage_of(find("six-eight"))
    first = [note for note in passage.notes if note.onset < 3]
    assert [note.onset for note in first] == [Fraction(n, 2) for n in range(6)]
    assert [note.end for note in first] == [3, Fraction(5, 2), 2, 3, 3, 3]


KEEPS = ((Keep.PITCHES, (None, None, None)), (Keep.FRETS, (5, 3, None)), (Keep.FINGERS, (5, 3, 3)))


@pytest.mark.parametrize(("keep", "first"), KEEPS)
def test_as_much_is_set_as_is_asked_for(keep: Keep, first: tuple[int | None, ...]) -> None:
    note = passage_of(from_shapes(["C", "F"]), keep).notes[0]
    assert (note.string, note.fret, note.finger) == first


@pytest.mark.parametrize("name", ["full-barre", "half-barre", "six-eight", "first-change"])
def test_a_drill_with_every_finger_kept_is_written_back_as_it_was(name: str) -> None:
    drill = find(name)
    again = fingered(drill, found(passage_of(drill, Keep.FINGERS)).best)
    for before, after in zip(drill.steps, again.steps, strict=True):
        sounds = {string: stop for string, stop in before.shape if not stop.silent and string in before.plucked.strings}
        assert {string: stop for string, stop in after.shape if not stop.silent} == sounds
        assert after.strokes == before.strokes
    assert replace(again, steps=()) == replace(drill, steps=())


def test_sought_from_pitches_the_strokes_follow_the_notes_to_their_strings() -> None:
    drill = find("six-eight")
    again = fingered(drill, found(passage_of(drill, Keep.PITCHES)).best)
    assert passage_of(again, Keep.PITCHES).bare().notes == passage_of(drill, Keep.PITCHES).bare().notes


def test_a_finger_used_twice_in_a_shape_is_no_shape_to_write() -> None:
    drill = find("six-eight")
    best = found(passage_of(drill)).best
    twice = tuple(replace(taken, finger=1) if taken.fret else taken for taken in best.notes)
    with pytest.raises(ChangeoverError, match="is not held as one shape"):
        fingered(drill, replace(best, notes=twice))
    assert isinstance(best.passage, Passage)


def test_two_strings_of_one_pitch_are_both_taken() -> None:
    drill = from_shapes(["x x x x 5/4 0", "x x x x 3/3 0"])
    shape = fingered(drill, found(passage_of(drill)).best).steps[0].shape
    assert [stop and stop.fret for _, stop in shape][-2:] == [5, 0]


def test_moves_and_costs_are_those_of_each_shape() -> None:
    drill = find("six-eight")
    best = found(passage_of(drill)).best
    assert [len(moves) for moves in moves_of(drill, best)] == [6] * 8
    assert sum(costs_of(drill, best)) == pytest.approx(best.total)
    assert spans_of(drill)[1] == (Fraction(3), Fraction(6))
