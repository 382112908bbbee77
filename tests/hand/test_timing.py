"""When each finger may leave and must arrive, and which one to watch."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.fretboard.figures import figure
from tests.hand.building import change
from trainer.hand.change import Action

C_FIGURE = figure("1:5p 2:3i 3:2m 4:1a", melody=1)
"""C as a slow arpeggio: bass, inner strings 3 and 2, the melody on the open string 1."""


def test_a_finger_may_leave_when_its_note_is_over() -> None:
    """Inner: string 2 until the next stroke. Bass: string 5 until the shape's end. 2 is under no stroke."""
    done = change("C", "G7", C_FIGURE, figure("1:6p 2:1a"))
    assert done.move(1).free_from == 4
    assert done.move(3).free_from == 5
    assert done.move(2).free_from == 1, "string 4 is never struck, so 2 may go from the start"


def test_a_bass_note_holds_until_the_bass_strikes_again() -> None:
    done = change("C", "G7", figure("1:5p 2:3i 3:4p 4:2m"), None)
    assert done.move(3).free_from == 3
    assert done.move(2).free_from == 5


def test_a_melody_note_holds_until_the_melody_strikes_again() -> None:
    done = change("x 3/3 2/2 0 1/1 3/4", "0 2/2 2/3 1/1 0 0", figure("1:5p,1a 2:3i 3:2m", melody=1), None)
    assert done.move(4).free_from == 5


def test_notes_of_a_block_hold_to_the_end() -> None:
    done = change("C", "G7", figure("1:5,4,3,2,1", beats=3), None)
    assert [done.move(finger).free_from for finger in (1, 2, 3)] == [4, 4, 4]


def test_a_finger_that_stays_never_leaves() -> None:
    done = change("Am", "C", figure("1:5,4,3,2,1"), figure("1:5,4,3,2,1"))
    assert done.move(1).free_from is None
    assert done.move(1).needed_by is None


def test_a_finger_is_needed_when_its_string_is_first_struck() -> None:
    done = change("C", "G7", C_FIGURE, figure("1:6p 2:3i 5/2:1a 7/2:5p 4:1a"))
    assert done.move(3).needed_by == 1
    assert done.move(1).needed_by == Fraction(5, 2)
    assert done.move(2).needed_by == Fraction(7, 2)


def test_a_finger_under_no_stroke_is_needed_at_no_beat() -> None:
    assert change("C", "G7", None, figure("1:6p 2:1a")).move(2).needed_by is None


def test_a_finger_that_takes_over_is_needed_at_once() -> None:
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4 2:3"))
    assert done.move(2).action is Action.SWAP
    assert done.move(2).needed_by == 1


def test_a_barre_is_held_while_any_of_its_strings_sounds_and_needed_for_the_first() -> None:
    done = change("F", "3/1 5/3 5/4 4/2 3/1 3/1", figure("1:6p 2:1a 3:2m"), figure("2:1a 3:6p"))
    assert done.move(1).free_from == 5, "its bass on string 6 is never followed by another"
    assert done.move(1).needed_by == 2
    done = change("x x x x 5/1 5/1", "x x x x 7/1 7/1", figure("1:2 2:1 3:2", melody=1), None)
    assert done.move(1).free_from == 5


def test_a_string_stopped_above_the_barre_says_nothing_of_the_barre() -> None:
    """Only string 5 is struck, by 3: the barre under it may go from the start and is needed at no beat."""
    done = change("F", "3/1 5/3 5/4 4/2 3/1 3/1", figure("1:5"), figure("1:5"))
    assert done.move(1).free_from == 1
    assert done.move(1).needed_by is None


def test_a_finger_that_stays_and_lies_down_is_needed_for_the_strings_it_newly_covers() -> None:
    """C to F: string 2 is held anyway; string 6 must be covered when it is struck."""
    assert change("C", "F", None, figure("1:2 2:6 3:1")).move(1).needed_by == 2
    assert change("C", "F", None, figure("1:2 2:5")).move(1).needed_by is None


def test_without_beats_nothing_is_known_of_them() -> None:
    done = change("C", "G7")
    assert all(move.free_from is None and move.needed_by is None for move in done.moves)


def test_a_finger_from_the_air_has_nothing_to_leave_and_one_that_goes_is_needed_nowhere() -> None:
    done = change("Em", "Am", figure("1:6,5,4,3,2,1"), figure("1:5,4,3,2,1"))
    assert done.move(3).free_from is None
    done = change("Am", "Em", figure("1:5,4,3,2,1"), figure("1:6,5,4,3,2,1"))
    assert done.move(3).needed_by is None
    assert done.move(3).free_from == 5


# The finger to watch.


@pytest.mark.parametrize(
    ("before", "after", "watched", "why"),
    [
        ("C", "F", 1, "a barre being laid comes before 4 from the air"),
        ("Em", "Am", 3, "3 from the air comes before 1, which crosses"),
        ("x x 5/1 x 5/3 x", "x x 7/1 x x 7/3", 3, "3 crosses, 1 only slides"),
        ("x x 2/2 x x x", "x x 5/2 x x x", 2, "a guide, where nothing else arrives"),
        ("C", "D7", 3, "of two that cross, 3 goes across four strings and 2 across one"),
        ("x x 2/1 2/1 x x", "4/3 4/3 x x 2/1 2/1", 1, "two barres are laid: 1 comes across strings, 3 from the air"),
        ("0 0 0 0 0 0", "x 2/1 4/3 4/3 4/3 x", 3, "3 lies down, 1 only comes on, both from the air"),
        ("x x x 5/1 6/2 8/4", "x x 6/2 5/1 x 9/4", 2, "2 crosses 19 mm of string spacing, 4 slides 23 mm in contact"),
        ("F", "C", 2, "a barre that goes off is not laid"),
        ("Am", "x 0 0 0 1/1 0", None, "fingers only leave"),
        ("Am", "Am", None, "nothing moves"),
        ("x32010", "C", None, "fingers are not given"),
        ("0 0 0 0 0 0", "E", 1, "all from the air and needed at once: the lowest"),
    ],
)
def test_the_finger_to_watch(before: str, after: str, watched: int | None, why: str) -> None:
    assert change(before, after).watch == watched, why


def test_the_hands_own_shift_is_taken_off() -> None:
    """D7 to G: in the air 1 goes 43.5 mm and 2 goes 42.4. The hand shifts a fret (34.4 mm), which carries 1 right
    beside its string (26.5 mm across are left) and 2 a little past its fret (27.2 mm are left).
    """
    done = change("D7", "G")
    assert done.shift is not None
    assert done.shift.mm == pytest.approx(70.92 - 36.48, abs=0.01)
    assert abs(done.move(1).mm or 0) > abs(done.move(2).mm or 0)
    assert done.watch == 2


def test_ties_go_to_the_note_needed_first() -> None:
    """From the air nothing is left of the way once the hand is there, so the beats decide."""
    played = figure("1:6 2:3 3:4 4:5")
    assert change("0 0 0 0 0 0", "E", figure("1:1"), played).watch == 1
    assert change("0 0 0 0 0 0", "E", figure("1:1"), figure("1:6 2:4 3:3 4:5")).watch == 3
    assert change("0 0 0 0 0 0", "E", figure("1:1"), figure("1:6 2:5 3:3 4:4")).watch == 2


def test_a_note_that_is_never_struck_is_needed_last() -> None:
    assert change("0 0 0 0 0 0", "E", figure("1:1"), figure("1:6 2:4")).watch == 3


def test_a_swap_is_watched_as_a_finger_from_the_air_or_across_strings() -> None:
    done = change("x x x 3/3 2/2 0", "x x x 3/4 x 2/2", figure("1:3,2"), figure("1:1 2:3"))
    assert done.move(4).action is Action.SWAP
    assert done.watch == 4
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4 2:3 3:1"))
    assert done.move(2).action is Action.SWAP
    assert done.watch == 3, "it crosses further than 2"


def test_of_two_barres_being_laid_the_one_with_further_to_go() -> None:
    """1 hinges where it is; 3 lies down from the air, which counts no distance of its own."""
    done = change("x x x x 2/1 x", "x 2/1 4/3 4/3 4/3 2/1")
    assert [str(barre.actions[0]) for barre in done.barres] == ["laid", "laid"]
    assert done.watch == 1
