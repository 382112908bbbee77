"""A warm-up under way, on moments that the test gives."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.load import Strain
from trainer.practice.quick import from_shapes
from trainer.practice.warming import Warming, following, held
from trainer.practice.warmup import Kind, Material, Part, plan

DRILL = from_shapes(["C", "G", "Am"])
MATERIAL = Material("three", "Three", 3, 4.0, 60.0, Strain(60.0, 0.0, stretch=False))
PLAY = Part(Kind.PLAY, 40, "Three, at 60", 1.0, MATERIAL, 60.0)
PARTS = (Part(Kind.AWAY, 10, "Breathe."), PLAY, Part(Kind.REST, 5, "Rest."))


def test_it_goes_part_by_part_and_is_over_by_itself() -> None:
    going = Warming(PARTS).go(100.0)
    kinds = [
        None if (place := going.place(at)) is None else place.part.kind for at in (100, 109.9, 110, 150, 154.9, 155)
    ]
    assert kinds == [Kind.AWAY, Kind.AWAY, Kind.PLAY, Kind.REST, Kind.REST, None]
    assert going.go(200.0) is going
    assert going.next_moment(155.0) is None


def test_time_stands_still_while_it_rests() -> None:
    resting = Warming(PARTS).go(0.0).rest(12.0)
    place = resting.place(1_000.0)
    assert place is not None
    assert (place.into, place.left, resting.next_moment(1_000.0)) == (2.0, 43.0, None)
    again = resting.go(1_000.0).place(1_001.0)
    assert again is not None
    assert again.into == 3.0


def test_a_bar_is_counted_in_then_the_shapes_follow_the_beat_round_and_round() -> None:
    seen = [(now.pair, now.beat, now.counting) for now in (held(beat, DRILL) for beat in range(0, 20, 2))]
    assert seen == [
        *(((0, 1), beat, True) for beat in (1, 3)),
        *(((0, 1), beat, False) for beat in (1, 3)),
        *(((1, 2), beat, False) for beat in (1, 3)),
        *(((2, 0), beat, False) for beat in (1, 3)),
        *(((0, 1), beat, False) for beat in (1, 3)),
    ]


def test_the_next_part_can_be_had_at_once_and_what_comes_is_known() -> None:
    going = Warming(PARTS).go(0.0).skip(3.0)
    place = going.place(3.0)
    assert place is not None
    assert (place.part, place.into, going.going) == (PLAY, 0.0, True)
    assert following(PARTS, 0) == PLAY
    assert following(PARTS, 1) is None
    assert going.skip(4.0).skip(5.0).place(5.0) is None


@given(st.integers(2, 6), st.floats(0, 1e6))
def test_going_from_moment_to_moment_misses_no_second_and_no_part_and_takes_as_long_as_was_asked(
    minutes: int, start: float
) -> None:
    going = Warming(plan([MATERIAL], minutes)).go(start)
    at, last, seen = start, None, {0}
    while (moment := going.next_moment(at)) is not None:
        assert 0 < moment - at <= 1 + 1e-6
        at = last = moment
        place = going.place(at)
        seen |= set() if place is None else {place.index}
    assert last == pytest.approx(start + going.total, abs=1e-2)
    assert seen == set(range(len(going.parts)))
