"""What each finger does: every action, the order in which they are tried, and how far a finger goes."""

from __future__ import annotations

import math

import pytest

from tests.fretboard.figures import figure
from tests.hand.building import actions, change
from trainer.fretboard.instrument import Instrument
from trainer.hand.change import Action
from trainer.hand.moves import left_after_shift

PARALLEL = Instrument(nut_mm=50, saddle_mm=50)
"""Strings 10 mm apart everywhere, so that distances can be worked out by hand."""


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ("x x 2/2 x x x", "x x 2/2 x x x", "2 kept"),
        ("x x 2/2 x x x", "x x 5/2 x x x", "2 guide"),
        ("x x 2/2 x x x", "x x x 2/2 x x", "2 cross"),
        ("x x 2/2 x x x", "x x x 5/2 x x", "2 cross"),
        ("x x x x x x", "x x 2/2 x x x", "2 place"),
        ("x x 2/2 x x x", "x x 0 x x x", "2 lift"),
        ("0 0 0 0 0 0", "0 0 0 0 0 0", ""),
        ("x x 2/2 x x x", "x x 2/3 x x x", "2 lift, 3 place"),
    ],
)
def test_each_action(before: str, after: str, expected: str) -> None:
    assert actions(change(before, after)) == expected


def test_every_finger_is_accounted_for() -> None:
    done = change("C", "G7")
    assert [move.finger for move in done.moves] == [1, 2, 3, 4]
    assert done.move(4).action is Action.FREE
    assert [move.finger for move in done.doing(Action.CROSS)] == [1, 2, 3]


def test_a_silent_planted_finger_stays_when_its_turn_comes() -> None:
    """4 rests on string 1 at 3 before it is needed: it is kept, not placed."""
    done = change("x 3/3 2/2 0 1/1 (3/4)", "x 3/3 2/2 0 1/1 3/4")
    assert actions(done) == "1 kept, 2 kept, 3 kept, 4 kept"


def test_planting_a_silent_finger_early_is_placing_it() -> None:
    assert change("x 3/3 2/2 0 1/1 0", "x 3/3 2/2 0 1/1 (3/4)").move(4).action is Action.PLACE


# Am to D7: 2 goes to the very place on string 3 that 3 leaves, so it matters whether that note goes on.


def test_am_to_d7_crosses_where_the_note_is_struck_again() -> None:
    assert actions(change("Am", "D7")) == "1 kept, 2 cross, 3 cross"


def test_am_to_d7_swaps_where_the_note_goes_on_unstruck() -> None:
    """D7 begins with its bass alone; string 3 still sounds from Am and 2 takes it over under the sound."""
    done = change("Am", "D7", figure("1:5 2:4 3:3 4:2"), figure("1:4 2:3 3:2 4:1"))
    assert actions(done) == "1 kept, 2 swap, 3 cross"


def test_am_to_d7_swaps_where_the_note_is_never_struck_in_the_new_shape() -> None:
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4 2:1"))
    assert done.move(2).action is Action.SWAP


def test_am_to_d7_crosses_where_the_note_belongs_to_the_first_stroke() -> None:
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4,3 2:1"))
    assert done.move(2).action is Action.CROSS


def test_am_to_d7_crosses_where_the_note_was_never_struck() -> None:
    """Nothing sounds on string 3 of Am, so there is nothing to take over."""
    done = change("Am", "D7", figure("1:5 2:4"), figure("1:4 2:3"))
    assert done.move(2).action is Action.CROSS


def test_a_swap_from_the_air() -> None:
    """4 comes down where 3 held, the note going on: as silent in writing, or unstruck in the figure."""
    assert change("x x x 3/3 x 0", "x x x (3/4) x 0").move(4).action is Action.SWAP
    done = change("x x x 3/3 x 0", "x x x 3/4 x 0", figure("1:3"), figure("1:1 2:3"))
    assert actions(done) == "3 lift, 4 swap"


def test_a_barre_takes_over_a_note_that_it_is_not_written_to_play() -> None:
    done = change("x x x 2/2 x x", "x x x x x x + 2/1 3-1")
    assert done.move(1).action is Action.SWAP
    assert done.rings == (3,)


def test_another_pitch_is_never_taken_over() -> None:
    done = change("x x x 3/3 x 0", "x x x 4/4 x 0", figure("1:3"), figure("1:1 2:3"))
    assert done.move(4).action is Action.PLACE


def test_a_finger_takes_nothing_over_from_itself_or_from_an_open_string() -> None:
    done = change("0 x x 2/1 x 0", "0 x x 2/1 x 0", figure("1:3"), figure("1:1"))
    assert done.move(1).action is Action.KEPT
    done = change("0 x x 0 x 0", "0 x x 2/1 x 0", figure("1:3"), figure("1:1"))
    assert done.move(1).action is Action.PLACE


def test_a_guide_comes_before_a_swap() -> None:
    """1 slides along string 3; that it ends beside another finger's note on string 2 is of no matter."""
    done = change("x x x 2/1 5/3 x", "x x x 5/1 5/2 x", figure("1:3,2"), figure("1:3 2:2"))
    assert actions(done) == "1 guide, 2 swap, 3 lift"


def test_a_silent_note_is_not_taken_over() -> None:
    """3 only rested on string 3: it did not sound."""
    done = change("x x x (3/3) x 0", "x x x (3/4) x 0")
    assert done.move(4).action is Action.PLACE


def test_a_note_of_an_unknown_finger_is_not_known_to_be_taken_over() -> None:
    """It may have been 4 itself that held string 3; all that is seen is that 4 leaves string 1."""
    assert change("x x x 3 x 5/4", "x x x (3/4) x 0").move(4).action is Action.CROSS


# Barres: a barre's finger counts by its lowest-sounding string and is kept where any string and fret persists.


def test_c_to_f_keeps_1_and_3() -> None:
    assert actions(change("C", "F")) == "1 kept, 2 cross, 3 kept, 4 place"


def test_f_to_c_keeps_1_and_3() -> None:
    assert actions(change("F", "C")) == "1 kept, 2 cross, 3 kept, 4 lift"


def test_a_barre_slides_as_a_guide_by_its_lowest_sounding_string() -> None:
    done = change("F", "3/1 5/3 5/4 4/2 3/1 3/1")
    assert actions(done) == "1 guide, 2 guide, 3 guide, 4 guide"
    assert (done.move(1).start, done.move(1).end) == ((6, 1), (6, 3))


def test_a_barre_whose_lowest_sounding_string_changes_has_crossed() -> None:
    done = change("F", "x 3/1 5/2 5/3 5/4 3/1")
    assert done.move(1).action is Action.CROSS
    assert (done.move(1).start, done.move(1).end) == ((6, 1), (5, 3))


def test_a_silent_string_under_a_barre_does_not_count() -> None:
    done = change("(5/1) x x x 5/1 5/1", "x x x x 7/1 7/1")
    assert done.move(1).action is Action.GUIDE
    assert (done.move(1).start, done.move(1).end) == ((2, 5), (2, 7))


def test_a_barre_at_its_fret_over_other_strings_is_another_place() -> None:
    assert change("2/1 2/1 x x x x", "x x x x 2/1 2/1").move(1).action is Action.CROSS


# Fingers that are not given.


def test_without_fingers_every_action_is_unknown() -> None:
    done = change("x32010", "x32000")
    assert actions(done) == "1 unknown, 2 unknown, 3 unknown, 4 unknown"


def test_fingers_given_on_both_sides_are_known_all_the_same() -> None:
    """Only string 4's finger is missing: 1 and 3 are seen to stay and to slide, 2 and 4 may be on string 4."""
    done = change("x 3/3 2 0 1/1 0", "x 5/3 2 0 1/1 0")
    assert actions(done) == "1 kept, 2 unknown, 3 guide, 4 unknown"


@pytest.mark.parametrize(("before", "after"), [("x32010", "Am"), ("Am", "x32010")])
def test_one_shape_without_fingers_is_enough_to_know_nothing(before: str, after: str) -> None:
    assert actions(change(before, after)) == "1 unknown, 2 unknown, 3 unknown, 4 unknown"


# Millimetres.


def test_a_kept_finger_goes_nowhere() -> None:
    assert change("Am", "C").move(1).mm == 0.0
    assert change("C", "F").move(1).mm == 0.0, "even where its barre now begins on another string"


def test_a_guide_goes_along_its_string() -> None:
    up, down = change("x x 2/2 x x x", "x x 5/2 x x x"), change("x x 5/2 x x x", "x x 2/2 x x x")
    # 92.13 mm along (frets 2 to 5 of 650 mm); the string's slant adds less than a hundredth.
    assert up.move(2).mm == pytest.approx(163.05 - 70.92, abs=0.02)
    assert down.move(2).mm == pytest.approx(70.92 - 163.05, abs=0.02), "towards the nut is negative"


def test_a_cross_goes_in_a_straight_line() -> None:
    done = change("x x 2/2 x x x", "x x x x x 5/2", instrument=PARALLEL)
    along = PARALLEL.fret_mm(5) - PARALLEL.fret_mm(2)
    assert done.move(2).mm == pytest.approx(math.hypot(along, 30))
    back = change("x x x x x 5/2", "x x 2/2 x x x", instrument=PARALLEL)
    assert back.move(2).mm == pytest.approx(-math.hypot(along, 30))


def test_a_cross_at_the_same_fret_is_only_across() -> None:
    assert change("x x 2/2 x x x", "x x x 2/2 x x", instrument=PARALLEL).move(2).mm == pytest.approx(10)


def test_a_finger_from_or_to_the_air_has_no_distance() -> None:
    done = change("x x 2/2 x x x", "x x x 2/3 x x")
    assert (done.move(2).mm, done.move(3).mm, done.move(1).mm) == (None, None, None)
    assert (done.move(2).start, done.move(2).end) == ((4, 2), None)
    assert (done.move(3).start, done.move(3).end) == (None, (3, 2))


def test_frets_are_counted_from_the_capo() -> None:
    capoed = change("x x 2/2 x x x", "x x 5/2 x x x", instrument=Instrument(capo=2))
    assert capoed.move(2).mm == pytest.approx(216.18 - 134.09, abs=0.02), "frets 4 to 7 of the neck"


def test_what_is_left_of_the_way_once_the_hand_has_shifted() -> None:
    """10 mm across; along, frets 2 to 5 less what the hand itself goes."""
    along = PARALLEL.fret_mm(5) - PARALLEL.fret_mm(2)
    (move,) = change("x x 2/2 x x x", "x x x 5/2 x x").doing(Action.CROSS)
    assert left_after_shift(move, 0.0, PARALLEL) == pytest.approx(math.hypot(along, 10))
    assert left_after_shift(move, along, PARALLEL) == pytest.approx(10)
    assert left_after_shift(move, along + 24, PARALLEL) == pytest.approx(26)
    (back,) = change("x x x 5/2 x x", "x x 2/2 x x x").doing(Action.CROSS)
    assert left_after_shift(back, -along, PARALLEL) == pytest.approx(10)


def test_a_finger_from_or_to_the_air_has_nothing_of_its_own_left_to_go() -> None:
    done = change("x x 2/2 x x x", "x x x 5/3 x x")
    assert left_after_shift(done.move(2), 30.0, PARALLEL) == 0.0
    assert left_after_shift(done.move(3), 30.0, PARALLEL) == 0.0


# Other numbers of strings.


def test_seven_strings() -> None:
    """Am over a low A on string 7, then over a low fretted C: 4 comes on, the upper fingers stay."""
    seven = Instrument.tuned("A1 E2 A2 D3 G3 B3 E4")
    done = change("0 x x 2/2 2/3 1/1 0", "3/4 x x 2/2 2/3 1/1 0", instrument=seven)
    assert actions(done) == "1 kept, 2 kept, 3 kept, 4 place"
    assert done.move(4).end == (7, 3)


def test_four_strings() -> None:
    four = Instrument.tuned("D3 G3 B3 E4", capo=2)
    done = change("2/2 2/3 1/1 0", "2/2 0 1/1 2/3", instrument=four)
    assert actions(done) == "1 kept, 2 kept, 3 cross"
    assert (done.move(3).start, done.move(3).end) == ((3, 2), (1, 2))
