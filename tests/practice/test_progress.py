"""Records, improvements and paces, by worked tables, a published example and properties."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.progress import (
    ENDS,
    ENDS_FEWEST,
    RECORD_FROM,
    RunTimes,
    improvement,
    paces,
    record,
    shift,
)

TIMES = st.lists(st.floats(1.0, 5000.0), min_size=1, max_size=25)

# How far one group lies from another

STIMULANT_1 = [1.94] * 2 + [2.92] * 4 + [3.27] * 4 + [3.70] * 2 + [3.74]
STIMULANT_2 = [3.27] * 3 + [3.70] * 2 + [3.74]
"""Reaction times, from the SAS/STAT User's Guide, the NPAR1WAY procedure, example 'Hodges-Lehmann Estimation'."""
_AT_98 = 2.3263478740408408


def test_the_published_example() -> None:
    """SAS prints a shift of 0.35 and exact 98 % limits of 0.00 and 1.33 for these times."""
    found = shift(STIMULANT_1, STIMULANT_2, _AT_98)
    assert (found.middle, found.low, found.high) == pytest.approx((0.35, 0.0, 1.33))


@given(TIMES, TIMES)
def test_the_middle_is_the_median_of_all_differences_by_numpy(before: list[float], after: list[float]) -> None:
    differences = np.subtract.outer(np.array(after), np.array(before))
    found = shift(before, after)
    assert found.middle == pytest.approx(float(np.median(differences)))
    assert differences.min() <= found.low <= found.middle <= found.high <= differences.max()


@given(TIMES, TIMES)
def test_turned_round_it_is_as_far_the_other_way(before: list[float], after: list[float]) -> None:
    there, back = shift(before, after), shift(after, before)
    assert (there.middle, there.low, there.high) == pytest.approx((-back.middle, -back.high, -back.low))


@pytest.mark.parametrize("each", [ENDS_FEWEST, ENDS])
def test_the_interval_holds_the_truth_in_95_of_100_cases(each: int) -> None:
    """Of 1,000 simulated pairs of groups 925 to 975 hold it: four standard deviations of a share of 95 %."""
    chance = random.Random(7)
    held = 0
    for _ in range(1000):
        before = [chance.lognormvariate(6.5, 0.3) for _ in range(each)]
        found = shift(before, [chance.lognormvariate(6.5, 0.3) - 100 for _ in range(each)])
        held += found.low <= -100 <= found.high
    assert 925 <= held <= 975


# What has improved


def falling(count: int, first: float, last: float) -> list[float]:
    return [first + (last - first) * n / (count - 1) + (n % 3 - 1) * 10 for n in range(count)]


def test_a_fall_beyond_chance_is_an_improvement() -> None:
    times = falling(60, 1000.0, 600.0)
    found = improvement(times[:ENDS], times[-ENDS:], len(times))
    assert found is not None
    # The middle of the first twenty lies near try 10 of 59, that of the last near 49.
    assert (found.first_ms, found.now_ms) == pytest.approx((935.0, 665.0), abs=10)
    assert found.part == pytest.approx(1 - 665 / 935, abs=0.02)
    assert found.shift.high < 0


@pytest.mark.parametrize(
    "times",
    [
        falling(2 * ENDS_FEWEST - 1, 1000.0, 100.0),  # too few to stand at one end only
        falling(60, 600.0, 1000.0),  # slower
        [700.0] * 60,  # the same
        [500.0, 900.0] * 30,  # to and fro
    ],
)
def test_no_improvement(times: list[float]) -> None:
    assert improvement(times[:ENDS], times[-ENDS:], len(times)) is None


def test_no_time_stands_at_both_ends() -> None:
    """Of 24 times twelve are compared with twelve: the slow first half and the fast second one, whole."""
    times = [1000.0] * 12 + [500.0] * 12
    found = improvement(times[:ENDS], times[-ENDS:], len(times))
    assert found is not None
    assert (found.first_ms, found.now_ms, found.shift.middle) == (1000.0, 500.0, -500.0)


def test_chance_alone_seldom_improves() -> None:
    """Two-sided at 5 %, so a fall is found in about 25 of 1,000 series that only scatter; at most 45 by four sigma."""
    chance = random.Random(11)
    series = ([chance.gauss(800, 120) for _ in range(2 * ENDS)] for _ in range(1000))
    assert sum(improvement(times[:ENDS], times[ENDS:], 2 * ENDS) is not None for times in series) <= 45


# Records


def runs(*told: tuple[int, float]) -> list[RunTimes]:
    return [RunTimes(float(number), timed, median_ms) for number, (timed, median_ms) in enumerate(told)]


@pytest.mark.parametrize(
    ("told", "run", "before_ms"),
    [
        ([(6, 900.0), (6, 800.0), (6, 850.0)], 1, 900.0),
        ([(6, 900.0), (6, 800.0), (9, 700.0)], 2, 800.0),
        ([(6, 900.0), (RECORD_FROM - 1, 100.0), (6, 880.0)], 2, 900.0),  # a lucky short run is none
        ([(2, 100.0), (6, 900.0), (6, 800.0)], 2, 900.0),  # nor is one there to be beaten
    ],
)
def test_the_record(told: list[tuple[int, float]], run: int, before_ms: float) -> None:
    found = record(runs(*told))
    assert found is not None
    assert (found.run.at, found.before_ms) == (run, before_ms)


@pytest.mark.parametrize(
    "told",
    [[], [(6, 900.0)], [(6, 900.0), (6, 950.0)], [(6, 900.0), (6, 900.0)], [(5, 900.0), (5, 800.0)]],
)
def test_no_record(told: list[tuple[int, float]]) -> None:
    assert record(runs(*told)) is None


@given(st.lists(st.tuples(st.integers(1, 12), st.floats(100, 2000)), max_size=12))
def test_nothing_that_counts_was_faster_than_a_record(told: list[tuple[int, float]]) -> None:
    played = runs(*told)
    counted = [run.median_ms for run in played if run.timed >= RECORD_FROM]
    found = record(played)
    if found is None:
        assert not counted or min(counted) == counted[0]
    else:
        assert found.run.median_ms == min(counted) < found.before_ms <= counted[0]


# Paces


def test_each_change_is_held_against_itself() -> None:
    """By hand: change 1 usually takes 800 (of 1000, 800, 600), change 2 takes 450; change 3 was played once."""
    parts = [{1: 1000.0, 2: 500.0}, {1: 800.0, 3: 99.0}, {1: 600.0, 2: 400.0}, {}]
    assert paces(parts) == [pytest.approx((1.25 + 500 / 450) / 2), 1.0, pytest.approx((0.75 + 400 / 450) / 2), None]


def test_a_new_slow_change_does_not_spoil_the_pace() -> None:
    old = [{1: 500.0}, {1: 500.0}, {1: 500.0}]
    assert paces([old[0], {**old[1], 2: 4000.0}, {**old[2], 2: 4000.0}]) == [1.0, 1.0, 1.0]


@given(st.lists(st.dictionaries(st.integers(1, 5), st.floats(100, 3000), max_size=5), max_size=8), st.floats(0.1, 10))
def test_a_change_that_takes_so_many_times_as_long_everywhere_has_the_same_paces(
    parts: Sequence[dict[int, float]], factor: float
) -> None:
    slower = [{series: ms * (factor if series == 1 else 1) for series, ms in part.items()} for part in parts]
    assert paces(slower) == pytest.approx(paces(parts))
