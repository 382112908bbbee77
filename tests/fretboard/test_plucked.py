"""How long each plucked note is meant to last: bass, inner voices and melody."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.fretboard.figures import figure
from trainer.fretboard.plucked import BASS, INNER, MELODY, Plucked, Stroke

# A common arpeggio: bass on 1, melody with it, inner strings between, bass and melody again on 3.
ARPEGGIO = figure("1:5p,1a 3/2:3i 2:2m 5/2:3i 3:5p,1a 7/2:3i 4:2m 9/2:3i", melody=1)


def test_the_shape_is_over_when_its_beats_are() -> None:
    assert ARPEGGIO.end == 5


def test_first_and_last_stroke_of_each_string() -> None:
    assert ARPEGGIO.first(3) == Fraction(3, 2)
    assert ARPEGGIO.last(3) == Fraction(9, 2)
    assert ARPEGGIO.first(6) is None
    assert ARPEGGIO.last(6) is None
    assert ARPEGGIO.strings == {5, 3, 2, 1}


def test_the_thumb_plays_the_bass_and_the_drill_names_the_melody() -> None:
    assert [ARPEGGIO.voice(string) for string in (5, 3, 2, 1)] == [BASS, INNER, INNER, MELODY]


def test_the_melody_may_lie_under_the_thumb() -> None:
    assert figure("1:5p 2:3i", melody=5).voice(5) == MELODY


def test_without_right_hand_the_lowest_string_of_the_first_stroke_is_the_bass() -> None:
    played = figure("1:4,1 2:5 3:2")
    assert [played.voice(string) for string in (5, 4, 2, 1)] == [INNER, BASS, INNER, INNER]


def test_one_thumb_is_enough_to_tell_the_bass() -> None:
    played = figure("1:2 2:5p 3:3")
    assert [played.voice(string) for string in (5, 3, 2)] == [BASS, INNER, INNER]


def test_a_string_the_thumb_never_plucks_is_no_bass() -> None:
    assert figure("1:5i 2:4p").voice(5) == INNER


def test_bass_and_melody_hold_until_their_own_voice_strikes_again() -> None:
    """Bass string 5 on 1, string 4 on 3 (both by the thumb); melody on string 1 on beat 2."""
    played = figure("1:5p 2:1a 5/2:2m 3:4p 4:3i", melody=1)
    assert played.free(5) == 3, "not beat 2: the melody is another voice"
    assert played.free(4) == 5, "the last of its voice: until the shape is over"
    assert played.free(1) == 5


def test_a_voice_strikes_again_also_within_a_chord() -> None:
    assert figure("1:5p 2:3i 3:4p,2m").free(5) == 3


def test_an_inner_note_holds_until_the_next_stroke() -> None:
    played = figure("1:5p 3/2:3i 2:2m 3:5p")
    assert played.free(3) == 2
    assert played.free(2) == 3
    assert figure("1:5p 2:3i,2m").free(2) == 5, "the last one until the shape is over"


def test_it_is_the_last_stroke_on_the_string_that_counts() -> None:
    assert ARPEGGIO.free(3) == 5
    assert ARPEGGIO.free(2) == Fraction(9, 2)
    assert ARPEGGIO.free(5) == 5


def test_notes_of_a_block_hold_until_the_shape_is_over() -> None:
    block = figure("1:5,4,3,2,1", beats=3)
    assert [block.free(string) for string in (5, 4, 3, 2, 1)] == [4] * 5


def test_a_string_that_is_not_plucked_has_nothing_to_hold() -> None:
    assert ARPEGGIO.free(6) is None


@pytest.mark.parametrize("string", [5, 3, 2, 1])
def test_no_note_ends_before_it_began(string: int) -> None:
    free, last = ARPEGGIO.free(string), ARPEGGIO.last(string)
    assert free is not None
    assert last is not None
    assert free > last


def test_a_string_is_plucked_again_or_the_shape_is_over() -> None:
    strokes = (Stroke(Fraction(1), (5, 1)), Stroke(Fraction(2), (3,)), Stroke(Fraction(5, 2), (5,)))
    played = Plucked(Fraction(3), strokes)
    assert played.until(5, Fraction(1)) == Fraction(5, 2)
    assert played.until(5, Fraction(5, 2)) == 4, "never again: the end of the shape"
    assert played.until(1, Fraction(1)) == 4
    assert played.until(3, Fraction(1)) == 2, "it need not have been plucked before"
