"""What an instrument and a hand have to say of one shape."""

from __future__ import annotations

import math

import pytest

from tests.hand.building import change, held
from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.hand.hold import checked, trouble
from trainer.hand.reach import HANDS, PAIRS, Hand


def said(shape: str, instrument: Instrument | None = None, hand: Hand = HANDS["adult"]) -> list[tuple[bool, str]]:
    """Return each problem as (rules it out, line)."""
    return [(not problem.warning, str(problem)) for problem in trouble(held(shape), instrument or Instrument(), hand)]


def test_an_easy_shape_is_no_trouble() -> None:
    assert said("C") == []


def test_a_shape_needs_the_instruments_strings() -> None:
    line = "a shape of 4 strings on an instrument of 6 (write one token for each string)"
    assert said("2 0 1 0") == [(True, line)]


def test_a_shape_needs_frets_that_are_there() -> None:
    assert said("x x x x x 20/1") == [(True, "fret 20 is off the neck (the highest is 19)")]
    assert said("x x x x x 19/1") == []
    capoed = Instrument(capo=3)
    assert said("x x x x x 17/1", capoed) == [(True, "fret 17 is off the neck (the highest is 16 from the capo at 3)")]


def test_it_is_the_highest_fret_that_must_be_there() -> None:
    assert said("1/1 x x x x 20/4") == [(True, "fret 20 is off the neck (the highest is 19)")]


def test_frets_of_declared_barres_must_be_there_too() -> None:
    assert said("x x x x x x + 20/1 6-1") == [(True, "fret 20 is off the neck (the highest is 19)")]


def test_a_stretch_beyond_the_hand_is_a_warning() -> None:
    """Frets 1 and 5 are 126.6 mm apart on one string (163.05 - 36.48 of 650 mm)."""
    ((rules_out, line),) = said("x x x x 5/2 1/1")
    assert not rules_out
    assert line == (
        "fingers 1 and 2 would be 127 mm apart, this hand reaches 80 mm "
        "(never force a stretch; choose another fingering or set your own reach)"
    )


def test_every_pair_of_fingers_has_its_own_limit() -> None:
    """Each pair on one string of equal width, a millimetre more than the hand reaches, then exactly as far."""
    instrument = Instrument(nut_mm=50, saddle_mm=50)
    apart = instrument.distance((1, 1), (1, 4))
    for pair in PAIRS:
        low, high = pair
        shape = f"x x x x 4/{high} 1/{low}"
        needed = math.hypot(apart, 10)
        largest = [needed - 0.5 if other == pair else 300.0 for other in PAIRS]
        (line,) = [line for _, line in said(shape, instrument, Hand((10.0,) * 6, tuple(largest)))]
        assert line.startswith(f"fingers {low} and {high} would be {needed:.0f} mm apart")
        largest = [needed if other == pair else 300.0 for other in PAIRS]
        assert said(shape, instrument, Hand((10.0,) * 6, tuple(largest))) == []


def test_a_barre_is_as_near_as_its_nearest_string() -> None:
    """Across the strings 1 and 4 are far apart by their tips; along the barre they are not."""
    narrow = Hand((10.0,) * 6, (300.0, 300.0, 68.0, 300.0, 300.0, 300.0))
    assert said("1/1 x x x x 3/4 + 1/1 6-1", hand=narrow) == []
    assert len(said("1/1 x x x x 3/4", hand=narrow)) == 1


def test_a_small_hand_is_warned_sooner() -> None:
    shape = "x x x 1/1 4/2 x"
    assert len(said(shape, hand=HANDS["child"])) == 1
    assert said("x x x 1/1 2/2 x", hand=HANDS["child"]) == []


def test_crossed_fingers_are_a_warning() -> None:
    assert said("x x x 3/1 2/2 x") == [
        (False, "finger 2 lies nearer the nut than finger 1 (fingers would cross; is it meant?)")
    ]


def test_stacked_fingers_do_not_cross() -> None:
    assert said("x 0 2/1 2/2 2/3 0") == []


def test_an_instrument_without_the_strings_says_nothing_of_stretches() -> None:
    assert len(said("1/1 12/2 3/3 0")) == 1


def test_a_change_between_shapes_that_do_not_fit_is_refused() -> None:
    with pytest.raises(ChangeoverError, match="a shape of 4 strings on an instrument of 6"):
        change("2 0 1 0", "Am")
    with pytest.raises(ChangeoverError, match="a shape of 4 strings on an instrument of 6"):
        change("Am", "2 0 1 0")
    with pytest.raises(ChangeoverError, match="fret 20 is off the neck"):
        change("Am", "x x x x x 20/1")


def test_a_stretch_is_no_reason_to_refuse() -> None:
    wide = held("x x x x 5/2 1/1")
    assert checked(wide, Instrument()) is wide


# The hand's reach.


def test_smaller_hands_are_the_adults_in_proportion() -> None:
    assert HANDS["small"].comfort(1, 4) == pytest.approx(88.0)
    assert HANDS["child"].comfort(1, 2) == pytest.approx(27.0)
    assert HANDS["child"].limit(1, 2) == pytest.approx(60.0)


def test_an_adults_comfortable_hand_covers_a_finger_to_a_fret_in_position_1_and_no_more() -> None:
    """What the starting values are said to be: frets 1 to 4 of 650 mm, and half a fret to spare at most."""
    instrument, hand = Instrument(), HANDS["adult"]
    for low, high in PAIRS:
        needed = instrument.fret_mm(high) - instrument.fret_mm(low)
        assert needed <= hand.comfort(low, high) < needed + 15


def test_reach_is_given_for_each_pair_in_order() -> None:
    hand = Hand(comfortable=(1, 2, 3, 4, 5, 6), largest=(11, 12, 13, 14, 15, 16))
    assert [hand.comfort(*pair) for pair in PAIRS] == [1, 2, 3, 4, 5, 6]
    assert [hand.limit(*pair) for pair in PAIRS] == [11, 12, 13, 14, 15, 16]
    assert PAIRS == ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4))


@pytest.mark.parametrize(
    ("comfortable", "largest", "line"),
    [
        ((30,) * 5, (60,) * 6, "reach is not given for six pairs of fingers (1-2, 1-3, 1-4, 2-3, 2-4, 3-4 in mm)"),
        ((30,) * 6, (60,) * 7, "reach is not given for six pairs of fingers (1-2, 1-3, 1-4, 2-3, 2-4, 3-4 in mm)"),
        (
            (30, 61, 30, 30, 30, 30),
            (60,) * 6,
            "reach between fingers 1 and 3: comfortable 61, largest 60 "
            "(in mm, the largest no smaller than the comfortable one, at most 300)",
        ),
        (
            (0,) * 6,
            (60,) * 6,
            "reach between fingers 1 and 2: comfortable 0, largest 60 "
            "(in mm, the largest no smaller than the comfortable one, at most 300)",
        ),
        (
            (30,) * 6,
            (60, 60, 60, 60, 60, 301),
            "reach between fingers 3 and 4: comfortable 30, largest 301 "
            "(in mm, the largest no smaller than the comfortable one, at most 300)",
        ),
        (
            (math.nan,) * 6,
            (60,) * 6,
            "reach between fingers 1 and 2: comfortable nan, largest 60 "
            "(in mm, the largest no smaller than the comfortable one, at most 300)",
        ),
    ],
)
def test_impossible_reaches_are_refused(comfortable: tuple[float, ...], largest: tuple[float, ...], line: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        Hand(comfortable, largest)
    assert str(caught.value) == line
