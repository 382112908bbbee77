"""The hand's frame: positions against a printed edition, reaches, contractions and spans."""

from __future__ import annotations

import math

import pytest

from tests.hand.building import change, held
from trainer.fretboard.instrument import Instrument
from trainer.hand.change import Reach
from trainer.hand.frame import between, contracted, position, reaches, span
from trainer.hand.reach import HANDS, Hand

# Printed positions of Carcassi's arpeggio preludes, op. 59 (1836; edition of 1906, typeset in the public domain by the
# Mutopia Project): prelude, bar, numeral, and the fingers printed from the numeral on. Fingers and pitches are printed;
# the strings follow from them.
PRINTED = (
    (1, 1, 1, "x 3/3 2/2 0 1/1 0"),
    (2, 1, 1, "x 0 x 2/3 1/1 x"),
    (3, 1, 1, "3/3 x x 0 0 3/4"),
    (4, 1, 1, "0 x x 0 0 3/4"),
    (5, 1, 1, "x x 0 2/2 3/4 2/3"),
    (5, 3, 2, "x 0 x 2/1 2/2 0"),
    (5, 4, 1, "x x 0 2/2 1/1 2/3"),
    (5, 4, 2, "3/2 x x 0 0 3/3"),
    (5, 5, 1, "0 x 2/2 1/1 3/4 0"),
    (6, 3, 3, "0 x 5/3 4/2 5/4 3/1"),
    (6, 11, 1, "0 x 2/2 0 1/1 3/4"),
    (7, 1, 1, "x 0 x 2/2 2/3 0"),
    (7, 7, 2, "x x 2/1 2/2 2/3 0"),
    (7, 7, 1, "0 x x 1/2 0 0"),
    (8, 3, 2, "x 2/1 x 4/3 3/2 4/4"),
    (9, 3, 4, "x x 4/1 6/3 7/4 5/2"),
    (9, 6, 1, "x 1/1 x 0 2/3 0"),
    (9, 7, 1, "x 2/2 x 1/1 0 0"),
    (9, 8, 1, "0 2/2 2/3 1/1 0 0"),
    (10, 1, 4, "x 4/1 6/3 6/4 5/2 x"),
    (10, 3, 3, "x x 3/1 4/3 3/2 4/4"),
    (10, 6, 1, "x x 2/2 1/1 2/3 4/4"),
    (10, 7, 1, "x x 1/1 2/2 2/3 2/4"),
    (10, 8, 4, "4/1 x 6/3 6/4 5/2 x"),
    (11, 6, 1, "x x 0 2/2 3/4 1/1"),
    (11, 7, 1, "x 3/3 x 3/4 1/1 0"),
    (12, 1, 1, "x x 0 3/3 2/2 3/4"),
    (12, 3, 1, "x 2/2 x 1/1 3/4 0"),
    (12, 12, 5, "x x 0 7/3 6/2 5/1"),
    (13, 1, 1, "x 1/1 3/2 3/3 3/4 x"),
    (13, 3, 1, "1/1 x 3/3 2/2 4/4 x"),
    (13, 4, 2, "2/1 x 0 x 3/4 x"),
    (13, 6, 1, "x x 1/1 0 1/2 3/4"),
    (13, 6, 2, "x x 2/1 0 2/2 3/4"),
    (13, 7, 1, "x x 3/2 3/3 3/4 1/1"),
    (13, 7, 3, "x x 3/1 5/3 4/2 5/4"),
    (14, 3, 3, "x 3/1 x 5/3 4/2 5/4"),
    (14, 5, 1, "x x 0 1/1 0 1/2"),
    (14, 5, 3, "x 3/1 5/3 5/4 4/2 x"),
    (14, 6, 2, "x 0 x 5/4 3/2 2/1"),
    (14, 6, 1, "x 1/1 x 3/2 3/3 3/4"),
    (15, 1, 3, "x 6/4 5/3 3/1 4/2 x"),
    (15, 2, 1, "x 1/1 x 3/2 3/3 4/4"),
    (15, 3, 2, "x 2/1 x 0 3/3 3/4"),
    (15, 4, 4, "4/1 x 6/3 5/2 6/4 x"),
    (15, 6, 3, "x x 3/1 3/2 3/3 4/4"),
    (16, 3, 1, "x 2/2 x 0 3/4 1/1"),
    (16, 7, 4, "x x 4/1 5/3 4/2 5/4"),
    (16, 8, 3, "x x 5/3 5/4 4/2 3/1"),
)


@pytest.mark.parametrize(("prelude", "bar", "numeral", "shape"), PRINTED)
def test_positions_agree_with_the_printed_ones(prelude: int, bar: int, numeral: int, shape: str) -> None:
    assert position(held(shape)) == numeral, f"prelude {prelude}, bar {bar}"


def test_a_shape_without_placed_fingers_has_no_position() -> None:
    assert position(held("0 0 0 0 0 0")) is None
    assert position(held("x32010")) is None, "no fingers are given"


def test_finger_1_need_not_be_placed() -> None:
    """One finger to a fret: 2, 3 and 4 at frets 6, 7 and 8 lie in position V."""
    assert position(held("x x 6/2 7/3 8/4 x")) == 5


def test_of_fingers_stacked_without_finger_1_the_lowest_lies_at_its_own_fret() -> None:
    assert position(held("x 0 5/2 5/3 5/4 x")) == 4


def test_no_position_lies_before_fret_1() -> None:
    assert position(held("x x x 1/4 x x")) == 1


def test_the_frame_is_fitted_to_all_fingers_so_finger_1_may_reach_back_from_it() -> None:
    """2, 3 and 4 at frets 6, 7 and 8 say position V; 1 at fret 4 lies one fret behind its own."""
    shape = held("x 4/1 6/2 7/3 8/4 x")
    assert position(shape) == 5
    assert reaches(shape, Instrument(), HANDS["adult"], 5) == {1: Reach.BACK}


def test_a_finger_that_lies_far_forward_reaches_forward() -> None:
    """1, 2 and 3 at frets 5, 6 and 7 say position V; 4 at fret 10 lies two frets beyond its own."""
    shape = held("x 5/1 6/2 7/3 10/4 x")
    assert position(shape) == 5
    assert reaches(shape, Instrument(), HANDS["adult"], 5) == {4: Reach.FORWARD}


def test_a_hand_that_covers_a_finger_to_a_fret_extends_nowhere_in_position_1() -> None:
    shape = held("x 1/1 2/2 3/3 4/4 x")
    assert reaches(shape, Instrument(), HANDS["adult"], 1) == {}


def test_a_childs_hand_extends_where_an_adults_does_not() -> None:
    """The same four frets: 97.6 mm between fingers 1 and 4; the child's comfortable reach is 75 mm."""
    shape = held("x 1/1 2/2 3/3 4/4 x")
    assert set(reaches(shape, Instrument(), HANDS["child"], 1)) == {2, 3, 4}
    # On a 480 mm instrument the child's hand is as comfortable as the adult's on 650 mm.
    assert reaches(shape, Instrument(scale_mm=480), HANDS["child"], 1) == {}


def test_the_same_frets_are_no_reach_further_up_the_neck() -> None:
    """Frets narrow: 1 and 2 two frets apart are 66.9 mm in position I and 36 mm or less from position XI on."""
    assert reaches(held("x x 1/1 3/2 x x"), Instrument(), HANDS["adult"], 1) == {2: Reach.FORWARD}
    assert reaches(held("x x 12/1 14/2 x x"), Instrument(), HANDS["adult"], 12) == {}


def test_a_capo_narrows_the_frets_too() -> None:
    assert reaches(held("x x 1/1 3/2 x x"), Instrument(capo=11), HANDS["adult"], 1) == {}


def test_fingers_stacked_at_one_fret_reach_nowhere() -> None:
    """A: three fingers at fret 2."""
    assert reaches(held("x 0 2/1 2/2 2/3 0"), Instrument(), HANDS["child"], 2) == {}


def test_of_stacked_fingers_the_one_nearest_its_own_fret_counts() -> None:
    """2, 3 and 4 at fret 3 with 1 at fret 1: 3 lies at its own fret, so nothing is stretched between 1 and 2."""
    assert reaches(held("x 1/1 3/2 3/3 3/4 x"), Instrument(), HANDS["adult"], 1) == {}


def test_of_stacked_fingers_the_one_nearest_its_own_fret_reaches() -> None:
    """The same in a child's hand, whose 1 and 3 cover 51 mm of the 66.9: it is 3 that reaches, not 2 or 4."""
    assert reaches(held("x 1/1 3/2 3/3 3/4 x"), Instrument(), HANDS["child"], 1) == {3: Reach.FORWARD}


def test_exactly_as_far_as_is_comfortable_is_no_reach() -> None:
    instrument = Instrument()
    apart = instrument.fret_mm(3) - instrument.fret_mm(1)
    exact = Hand(comfortable=(apart, 68, 100, 34, 65, 33), largest=(80, 120, 150, 60, 105, 60))
    assert reaches(held("x x 1/1 3/2 x x"), instrument, exact, 1) == {}
    tight = Hand(comfortable=(apart - 0.01, 68, 100, 34, 65, 33), largest=(80, 120, 150, 60, 105, 60))
    assert reaches(held("x x 1/1 3/2 x x"), instrument, tight, 1) == {2: Reach.FORWARD}


def test_a_hand_reaches_as_far_as_its_owner_says() -> None:
    shape = held("x x 1/1 3/2 x x")
    wide = Hand(comfortable=(67, 68, 100, 34, 65, 33), largest=(80, 120, 150, 60, 105, 60))
    assert reaches(shape, Instrument(), wide, 1) == {}


def test_contracted_fingers_are_closer_than_one_to_a_fret() -> None:
    assert contracted(held("x x 2/1 0 0 3/3"))
    assert contracted(held("x x 1/1 x x 3/4"))
    assert not contracted(held("x 1/1 2/2 3/3 4/4 x"))
    assert not contracted(held("x x 1/1 x x 3/3"))


def test_stacked_fingers_are_not_contracted() -> None:
    assert not contracted(held("x 0 2/1 2/2 2/3 0"))
    assert not contracted(held("0 0 0 0 0 0"))


def test_a_kept_finger_holds_the_frame_where_it_is() -> None:
    """1 reaches back from fret 5 to 4 while 2, 3 and 4 stay: an extension and no shift."""
    done = change("x 5/1 6/2 7/3 8/4 x", "4/1 x 6/2 7/3 8/4 x")
    assert done.positions == (5, 5)
    assert done.shift is not None
    assert (done.shift.frets, done.shift.mm) == (0, 0.0)
    assert done.move(1).reach is Reach.BACK


def test_the_frame_of_a_kept_finger_is_fitted_to_both_shapes() -> None:
    """By itself the first shape is position V, the second VI; 3 stays, so the hand must be in one place."""
    alone = position(held("x 5/1 6/2 8/3 x x")), position(held("x x 7/2 8/3 9/4 x"))
    assert alone == (5, 6)
    done = change("x 5/1 6/2 8/3 x x", "x x 7/2 8/3 9/4 x")
    assert done.positions[0] == done.positions[1]


def test_finger_1_may_close_up_under_a_kept_finger_without_a_shift() -> None:
    """4 stays at fret 4 in position I while 1 goes from fret 1 to 2: a contraction."""
    assert change("x 1/1 x x x 4/4", "x x 2/1 x x 4/4").positions == (1, 1)
    assert contracted(held("x x 2/1 x x 4/4"))


def test_without_a_kept_finger_the_hand_shifts() -> None:
    done = change("x 5/1 7/3 6/2 x x", "x x 8/1 10/3 9/2 x")
    assert done.positions == (5, 8)
    assert done.shift is not None
    assert done.shift.frets == 3
    assert done.shift.mm == pytest.approx(240.53 - 163.05, abs=0.01), "frets 5 to 8 of a 650 mm scale"


def test_a_shift_towards_the_nut_is_negative() -> None:
    back = change("x x 8/1 10/3 9/2 x", "x 5/1 7/3 6/2 x x").shift
    assert back is not None
    assert back.frets == -3
    assert back.mm == pytest.approx(163.05 - 240.53, abs=0.01)


def test_a_capo_shortens_the_shift_in_millimetres() -> None:
    """Three frets from the capo at II: frets 7 to 10 of the neck."""
    done = change("x 5/1 7/3 6/2 x x", "x x 8/1 10/3 9/2 x", instrument=Instrument(capo=2)).shift
    assert done is not None
    assert done.mm == pytest.approx(285.20 - 216.18, abs=0.02)


def test_a_barre_that_stays_does_not_hold_the_frame() -> None:
    """Only a fingertip pins the hand; under a kept barre of 3 the hand may turn from one frame into another."""
    done = change("x 3/1 5/3 5/3 5/3 x", "7/4 5/2 5/3 5/3 5/3 x")
    assert done.move(3).action == "kept"
    assert done.positions == (3, 4)


def test_a_hand_in_the_air_shifts_from_nowhere() -> None:
    done = change("0 0 0 0 0 0", "C")
    assert done.positions == (None, 1)
    assert done.shift is None


def test_span_is_the_distance_between_the_outermost_fingertips() -> None:
    """C: 3 on string 5 at fret 3 (103.42 mm from the nut), 1 on string 2 at fret 1 (36.48 mm).

    Strings lie 8.6 mm apart at the nut and 3 mm more at the saddle, 650 mm on; 5 and 2 are 1.5 gaps off the centre.
    """
    low, high = 1.5 * (8.6 + 3 * 103.42 / 650), -1.5 * (8.6 + 3 * 36.48 / 650)
    assert span(held("C"), Instrument()) == pytest.approx(math.hypot(103.42 - 36.48, low - high), abs=0.01)


def test_span_on_parallel_strings_is_exact() -> None:
    parallel = Instrument(nut_mm=50, saddle_mm=50)
    along = parallel.fret_mm(3) - parallel.fret_mm(1)
    assert span(held("C"), parallel) == pytest.approx(math.hypot(along, 30))


def test_span_of_one_finger_is_nothing_and_of_unknown_ones_unknown() -> None:
    assert span(held("0 2/1 0 0 0 0"), Instrument()) == 0.0
    assert span(held("0 0 0 0 0 0"), Instrument()) == 0.0
    assert span(held("x32010"), Instrument()) is None
    assert span(held("x 3/3 2 0 1/1 0"), Instrument()) is None


def test_the_distance_to_a_barre_is_measured_to_its_nearest_string() -> None:
    parallel = Instrument(nut_mm=50, saddle_mm=50)
    fingers = held("F").placings
    assert between(fingers[1], fingers[3], parallel) == pytest.approx(parallel.fret_mm(3) - parallel.fret_mm(1))
    declared = held("x 3/3 x x x x + 1/1 2-1").placings
    along = parallel.fret_mm(3) - parallel.fret_mm(1)
    assert between(declared[3], declared[1], parallel) == pytest.approx(math.hypot(along, 30))
