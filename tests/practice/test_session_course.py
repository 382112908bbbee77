"""Courses, against hand-counted lists of changes."""

from fractions import Fraction

import pytest

from trainer.errors import ChangeoverError
from trainer.fretboard.stock import stock_shape
from trainer.practice.course import (
    Course,
    Leg,
    back_and_forth,
    held_at,
    one_change,
    segment,
    shapes_held,
    whole,
    with_ways_back,
)
from trainer.practice.drill import Drill, Order, Segment, Step


def drill(shapes: int = 4, order: Order = Order.RING, beats: tuple[Fraction, ...] = ()) -> Drill:
    names = ["Am", "C", "G", "Em", "D", "E"] * 3
    lengths = beats or (Fraction(4),) * shapes
    steps = tuple(Step(stock_shape(name), name, length) for name, length in zip(names[:shapes], lengths, strict=True))
    return Drill("Ours", steps, order=order, tempo=72.0, meter=(3, 4))


def test_whole_ring_goes_twice_where_a_digit_can_answer_for_it() -> None:
    course = whole(drill(4))
    assert course.pairs == ((0, 1), (1, 2), (2, 3), (3, 0))
    assert course.rounds == 2
    assert (course.bar, course.tempo) == (3, 72.0)
    assert [leg.pair for leg in course.legs] == [(0, 1), (1, 2), (2, 3), (3, 0)] * 2
    assert [leg.round for leg in course.legs] == [1, 1, 1, 1, 2, 2, 2, 2]


def test_a_longer_ring_goes_once() -> None:
    assert whole(drill(5)).rounds == 1


def test_a_drill_played_once_leaves_the_way_back_out() -> None:
    course = whole(drill(3, Order.ONCE))
    assert course.pairs == ((0, 1), (1, 2))
    assert course.part(0) == (
        Leg((0, 1), 1),
        Leg((1, 2), 1),
        Leg((2, 0), 2, counted=False),
        Leg((0, 1), 2),
        Leg((1, 2), 2),
    )


def test_back_and_forth() -> None:
    assert [leg.pair for leg in back_and_forth(drill(), 1, 3, rounds=2).legs] == [(1, 3), (3, 1), (1, 3), (3, 1)]


def test_one_change_comes_back_untimed() -> None:
    course = one_change(drill(), 1, 2, times=3)
    assert [leg.pair for leg in course.legs] == [(1, 2)] * 3
    assert [(leg.pair, leg.counted) for leg in course.part(0)] == [
        ((1, 2), True),
        ((2, 1), False),
        ((1, 2), True),
        ((2, 1), False),
        ((1, 2), True),
    ]


def test_segment_counts_shapes_from_one() -> None:
    assert segment(drill(), Segment("middle", 2, 4), rounds=1).pairs == ((1, 2), (2, 3))


@pytest.mark.parametrize(
    ("shapes", "rounds", "sizes"),
    [(4, 2, [8]), (9, 1, [9]), (10, 1, [5, 5]), (12, 1, [6, 6]), (4, 5, [6, 7, 7]), (11, 2, [7, 7, 8])],
)
def test_paced_runs_are_about_equally_long_and_miss_nothing(shapes: int, rounds: int, sizes: list[int]) -> None:
    course = whole(drill(shapes), rounds)
    parts = [[leg for leg in course.part(number) if leg.counted] for number in range(course.parts)]
    assert [len(part) for part in parts] == sizes
    assert tuple(leg for part in parts for leg in part) == course.legs


def test_shapes_held_in_turn() -> None:
    legs = with_ways_back((Leg((0, 1), 1), Leg((0, 1), 2)))
    assert shapes_held(legs) == (0, 1, 0, 1)


@pytest.mark.parametrize(
    ("elapsed", "expected"),
    [
        (Fraction(0), (0, Fraction(0))),
        (Fraction(3, 2), (0, Fraction(3, 2))),
        (Fraction(2), (1, Fraction(0))),
        (Fraction(5), (2, Fraction(1, 2))),
        (Fraction(13, 2), None),
    ],
)
def test_what_is_held_when(elapsed: Fraction, expected: tuple[int, Fraction] | None) -> None:
    assert held_at((Fraction(2), Fraction(5, 2), Fraction(2)), elapsed) == expected


@pytest.mark.parametrize(
    ("beats", "ticks"),
    [
        ((Fraction(4), Fraction(2)), 1),
        ((Fraction(3, 2), Fraction(4)), 2),
        ((Fraction(3, 2), Fraction(4, 3)), 6),
        ((Fraction(4, 5), Fraction(8, 7)), 12),
    ],
)
def test_a_beat_is_divided_as_finely_as_the_shapes_begin(beats: tuple[Fraction, ...], ticks: int) -> None:
    course = whole(drill(2, beats=beats))
    assert course.ticks_per_beat(course.part(0)) == ticks


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: whole(drill(1)), "no change to practise"),
        (lambda: whole(drill(), 0), "0 rounds"),
        (lambda: back_and_forth(drill(), 2, 2), "no change from shape 3 to 3"),
        (lambda: one_change(drill(), 0, 4), "no change from shape 1 to 5"),
        (lambda: one_change(drill(), -1, 2), "no change from shape 0 to 3"),
        (lambda: segment(drill(), Segment("all", 3, 3)), "a segment from shape 3 to 3"),
        (lambda: segment(drill(), Segment("all", 2, 5)), "a segment from shape 2 to 5"),
        (lambda: Course(((0, 1),), 1, (Fraction(4),)), "no change from shape 1 to 2"),
    ],
)
def test_a_course_that_goes_nowhere_is_refused(make: object, words: str) -> None:
    assert callable(make)
    with pytest.raises(ChangeoverError, match=words):
        make()
