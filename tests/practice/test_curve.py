"""The learning curve, held against NumPy's least squares and against series whose true curve is known."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from statistics import fmean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.curve import Course, Curve, ToGoal
from trainer.practice.curve_fit import FEWEST, at_rate, fit, sums

LEVEL, GAIN, SPREAD = 500.0, 700.0, 90.0


def true_time(half: float, number: float, level: float = LEVEL, gain: float = GAIN) -> float:
    return level + gain * float(0.5 ** (number / half))


def series(chance: random.Random, tries: int, half: float, *, slips: float = 0.0, level: float = LEVEL) -> list[float]:
    """Return times that scatter about a known curve; a slip takes two and a half times as long."""
    return [
        (true_time(half, number, level) + chance.gauss(0, SPREAD)) * (2.5 if chance.random() < slips else 1)
        for number in range(tries)
    ]


def fitted(times: Sequence[float]) -> Curve:
    found = fit(times)
    assert found is not None
    return found


# Against a reference


@given(
    st.lists(st.floats(50, 5000), min_size=FEWEST, max_size=80),
    st.floats(2, 300),
    st.randoms(use_true_random=False),
)
def test_level_and_gain_are_weighted_least_squares(times: list[float], half: float, chance: random.Random) -> None:
    weights = [chance.uniform(0.2, 1.0) for _ in times]
    decay = 0.5 ** (1 / half)
    ours = at_rate(decay, weights, sums(times, weights))
    design = np.column_stack([np.ones(len(times)), decay ** np.arange(len(times))])
    root = np.sqrt(weights)
    (level, gain), *_ = np.linalg.lstsq(design * root[:, None], np.array(times) * root, rcond=None)
    if gain < -1e-6:
        assert ours.gain == 0
        assert ours.level == pytest.approx(float(np.average(times, weights=weights)))
    elif level < -1e-6:
        assert ours.level == 0
    elif level > 1e-6 and gain > 1e-6:
        assert (ours.level, ours.gain) == pytest.approx((level, gain), rel=1e-4, abs=1e-2)
        # (X'WX)^-1 times the error variance; correlation does not depend on that variance.
        aa, ab, bb = ours.doubt
        inverse = np.linalg.inv((design * np.array(weights)[:, None]).T @ design)
        assert bb / aa == pytest.approx(inverse[1, 1] / inverse[0, 0], rel=1e-4)
        assert ab / aa == pytest.approx(inverse[0, 1] / inverse[0, 0], rel=1e-4)


def reference(times: Sequence[float]) -> tuple[float, float, float]:
    """Return level, gain and half-life of least error by NumPy over a dense grid of rates."""
    best = (math.inf, 0.0, 0.0, 0.0)
    for half in np.geomspace(1.5, 1000, 1500):
        design = np.column_stack([np.ones(len(times)), 0.5 ** (np.arange(len(times)) / half)])
        solution, *_ = np.linalg.lstsq(design, np.array(times), rcond=None)
        error = float(((design @ solution - times) ** 2).sum())
        best = min(best, (error, float(solution[0]), float(solution[1]), float(half)))
    return best[1:]


@pytest.mark.parametrize("half", [6.0, 15.0, 40.0])
def test_the_likeliest_curve_is_that_of_a_dense_search(half: float) -> None:
    chance = random.Random(2)
    for _ in range(3):
        times = series(chance, 120, half)
        level, gain, found = reference(times)
        ours = fitted(times)
        own = math.log(0.5) / math.log(ours.best.decay)
        assert own == pytest.approx(found, rel=0.25)  # neighbouring rates lie 22 % apart
        for number in (5, 30, 119):
            theirs = true_time(found, number, level, gain)
            # Within a quarter of what one single time scatters by.
            assert ours.best.level + ours.best.gain * ours.best.decay**number == pytest.approx(theirs, abs=SPREAD / 4)


# Against known curves


def test_a_curve_without_scatter_is_recovered() -> None:
    found = fitted([true_time(20, number) for number in range(150)])
    assert found.level.middle == pytest.approx(LEVEL, rel=0.03)
    assert found.time().middle == pytest.approx(true_time(20, 149), rel=0.01)
    assert found.time(50).middle == pytest.approx(true_time(20, 199), rel=0.02)


@pytest.mark.parametrize("slips", [0.0, 0.05])
def test_intervals_hold_about_as_often_as_they_say_with_slips_and_without(slips: float) -> None:
    chance = random.Random(5)
    held: dict[str, list[bool]] = {"time": [], "level": [], "gain": []}
    errors = []
    for tries in (30, 60, 120):
        for half in (8.0, 25.0, 60.0):
            for _ in range(30):
                found = fitted(series(chance, tries, half, slips=slips))
                now = true_time(half, tries - 1)
                truths = {"time": now, "level": LEVEL, "gain": now - true_time(half, tries + 49)}
                for name, interval in (("time", found.time()), ("level", found.level), ("gain", found.gain(50))):
                    held[name].append(interval.low <= truths[name] <= interval.high)
                errors.append(found.time().middle / now - 1)
    # 270 series: three standard errors are 7 points. The level is the hardest to know, and said the most widely.
    assert fmean(held["time"]) == pytest.approx(0.8, abs=0.08)
    assert fmean(held["gain"]) == pytest.approx(0.85, abs=0.1)
    assert fmean(held["level"]) == pytest.approx(0.87, abs=0.1)
    assert fmean(errors) == pytest.approx(0, abs=0.01)


def test_slips_hardly_move_the_curve() -> None:
    chance = random.Random(8)
    times = series(chance, 100, 20)
    clean = fitted(times)
    slipped = fitted([time * 4 if number % 12 == 5 else time for number, time in enumerate(times)])
    assert slipped.time().middle == pytest.approx(clean.time().middle, rel=0.05)
    assert slipped.spread_ms == pytest.approx(clean.spread_ms, rel=0.3)
    assert clean.spread_ms == pytest.approx(SPREAD, rel=0.25)


def test_tries_to_a_goal_count_from_the_last_one() -> None:
    found = fitted([true_time(30, number) for number in range(60)])
    goal = true_time(30, 99)
    to_goal = found.to_goal(goal)
    assert to_goal.tries == pytest.approx(40, abs=3)
    assert found.to_goal(found.time().high + 1).tries == 0
    assert found.to_goal(100).tries is None


def test_a_goal_below_the_level_is_not_to_be_expected_and_says_so() -> None:
    chance = random.Random(4)
    found = fitted(series(chance, 150, 15))
    assert found.to_goal(LEVEL - 100).words == "not to be expected by going on like this"
    assert found.to_goal(LEVEL + 100).words == "reached"
    far = fitted(series(chance, 40, 60)).to_goal(LEVEL + 150)
    assert far.tries is not None
    assert far.low is not None
    assert far.low <= far.tries
    assert str(far.tries) in far.words


@pytest.mark.parametrize(
    ("to_goal", "words"),
    [
        (ToGoal(0, 0, 3), "reached"),
        (ToGoal(40, 25, 90), "about 40 more tries (25 to 90)"),
        (ToGoal(1400, 25, None), "about 1,400 more tries (25 or many more)"),
        (ToGoal(None, 25, None), "not to be expected by going on like this"),
    ],
)
def test_tries_to_a_goal_in_words(to_goal: ToGoal, words: str) -> None:
    assert to_goal.words == words


# What is said of the course


def test_the_course_is_named_when_it_is_sure() -> None:
    chance = random.Random(6)
    assert [fitted(series(chance, 150, 10)).course for _ in range(20)].count(Course.PLATEAU) >= 19
    assert [fitted(series(chance, 60, 40)).course for _ in range(20)].count(Course.FALLING) >= 17
    flat = [fitted([LEVEL + chance.gauss(0, SPREAD) for _ in range(80)]) for _ in range(20)]
    assert [one.course for one in flat].count(Course.PLATEAU) >= 13
    assert [one.course for one in flat].count(Course.FALLING) <= 2
    wild = [fitted([900 + chance.gauss(0, 500) for _ in range(FEWEST)]) for _ in range(20)]
    assert [one.course for one in wild].count(Course.TOO_FEW) >= 12


def test_too_few_times_make_no_curve() -> None:
    assert fit([900.0] * (FEWEST - 1)) is None
    assert fitted([900.0] * FEWEST).time().middle == pytest.approx(900, abs=1)


@given(st.lists(st.floats(1, 60_000), min_size=FEWEST, max_size=60))
def test_whatever_the_times_nothing_rises_and_nothing_is_negative(times: list[float]) -> None:
    found = fitted(times)
    assert sum(rate.weight for rate in found.rates) == pytest.approx(1)
    assert all(rate.level >= 0 and rate.gain >= 0 for rate in found.rates)
    for interval in (found.time(), found.level, found.gain(), found.time(500)):
        assert 0 <= interval.low <= interval.middle <= interval.high
        assert math.isfinite(interval.high)
    goal = found.to_goal(fmean(times))
    known = [math.inf if tries is None else tries for tries in (goal.low, goal.tries, goal.high)]
    assert known == sorted(known)


@given(st.lists(st.floats(100, 5_000), min_size=FEWEST, max_size=40))
def test_the_curve_is_the_same_in_any_unit(times: list[float]) -> None:
    # Times ten times as long (so that the floor of a millisecond does not matter): every length ten times as long.
    once, tenfold = fitted([time * 100 for time in times]), fitted([time * 1000 for time in times])
    assert tenfold.time().middle == pytest.approx(10 * once.time().middle, rel=1e-3, abs=20)
