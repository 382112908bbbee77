"""Statistics of a change's times, held against NumPy, the standard library and plain enumeration."""

from __future__ import annotations

import statistics as standard
from dataclasses import replace
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.record import Attempt, Texture, Timing
from trainer.practice.statistics import (
    TREND_MINIMUM,
    TREND_WINDOW,
    Verdict,
    describe,
    quantile,
    score_variance,
    share,
    shares,
    trend,
)

times = st.floats(min_value=-500.0, max_value=60_000.0, allow_nan=False)


def attempt(change_ms: float | None = 500.0, *, clean: bool | None = None) -> Attempt:
    return Attempt("a", "r", "key", 0.0, Timing.LEAVE, "keys", change_ms, clean=clean)


# Quantiles


@given(st.lists(times, min_size=1, max_size=60), st.floats(min_value=0.0, max_value=1.0))
def test_quantiles_are_those_of_numpy(values: list[float], part: float) -> None:
    assert quantile(sorted(values), part) == pytest.approx(float(np.quantile(values, part)), abs=1e-6)


@given(st.lists(times, min_size=2, max_size=60))
def test_quartiles_are_those_of_the_standard_library(values: list[float]) -> None:
    ours = [quantile(sorted(values), part) for part in (0.25, 0.5, 0.75)]
    assert ours == pytest.approx(standard.quantiles(values, n=4, method="inclusive"), abs=1e-6)


def test_quartiles_of_a_worked_example() -> None:
    # Ranks run from 0 to 4, so the quartiles are the second and fourth value: by hand.
    assert [quantile([1.0, 2.0, 4.0, 8.0, 16.0], part) for part in (0.0, 0.25, 0.5, 0.75, 1.0)] == [1, 2, 4, 8, 16]
    assert quantile([10.0, 20.0], 0.25) == 12.5


# One change described


def test_nothing_played_says_nothing() -> None:
    got = describe([])
    assert (got.count, got.timed, got.last_ten_ms) == (0, 0, ())
    assert (got.best_ms, got.median_ms, got.iqr_ms) == (None, None, None)
    assert got.trend.verdict is Verdict.TOO_FEW


def test_paced_attempts_count_without_a_time() -> None:
    got = describe([attempt(None, clean=True), attempt(None)])
    assert (got.count, got.timed, got.median_ms, got.clean, got.answered) == (2, 0, None, 1, 1)


def test_every_number_of_a_small_series() -> None:
    played = [700.0, 500.0, 900.0, 600.0, 800.0]
    got = describe([attempt(ms) for ms in played])
    assert (got.count, got.timed, got.best_ms, got.median_ms, got.iqr_ms) == (5, 5, 500.0, 700.0, 200.0)
    assert got.last_ten_ms == tuple(played)


def test_the_last_ten_are_the_newest_in_the_order_played() -> None:
    got = describe([attempt(float(n)) for n in range(25)])
    assert got.last_ten_ms == tuple(float(n) for n in range(15, 25))


def test_a_clean_share_counts_answered_ones_only() -> None:
    said = [True] * 8 + [False] + [None] * 5
    got = describe([attempt(clean=clean) for clean in said])
    assert share(got.clean, got.answered) == "8 of 9"
    assert got.count == 14


def test_a_clean_share_of_nothing_is_not_nought() -> None:
    assert share(0, 0) == "not said"
    assert share(0, 3) == "0 of 3"


@pytest.mark.parametrize(
    "other",
    [
        pytest.param(replace(attempt(), timing=Timing.CUE), id="timing"),
        pytest.param(replace(attempt(), tempo=60.0), id="tempo"),
        pytest.param(replace(attempt(), texture=Texture.FIGURE), id="texture"),
        pytest.param(replace(attempt(), source="pedal"), id="source"),
        pytest.param(replace(attempt(), change="another"), id="change"),
    ],
)
def test_times_that_cannot_be_compared_are_never_pooled(other: Attempt) -> None:
    with pytest.raises(ValueError, match="never pooled"):
        describe([attempt(), other])


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf")])
def test_a_time_that_is_no_number_never_becomes_an_attempt(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        attempt(bad)


# Trend


@given(st.lists(times, min_size=TREND_MINIMUM, max_size=TREND_WINDOW + 10))
def test_the_slope_is_the_median_of_all_pair_slopes(values: list[float]) -> None:
    newest = values[-TREND_WINDOW:]
    slopes = [(newest[j] - newest[i]) / (j - i) for i, j in combinations(range(len(newest)), 2)]
    assert trend(values).ms_per_attempt == pytest.approx(float(np.median(slopes)), abs=1e-6)


@pytest.mark.parametrize("values", [(1, 2, 3, 4, 5, 6), (1, 1, 2, 3, 3, 3), (2, 2, 2, 2, 2, 2), (1, 1, 2, 2, 3, 3)])
def test_the_variance_of_the_score_is_that_of_every_order(values: tuple[float, ...]) -> None:
    scores = [
        sum((later > earlier) - (later < earlier) for earlier, later in combinations(order, 2))
        for order in permutations(values)
    ]
    assert score_variance(values) == pytest.approx(standard.pvariance(scores))


@pytest.mark.parametrize("count", [0, 1, TREND_MINIMUM - 1])
def test_few_times_are_called_too_few(count: int) -> None:
    got = trend([1000.0 - 50 * n for n in range(count)])
    assert (got.verdict, got.ms_per_attempt, got.attempts) == (Verdict.TOO_FEW, None, count)
    assert got.words == f"too few yet ({count} of 10)"


def test_ten_falling_times_are_enough() -> None:
    got = trend([1000.0 - 20 * n for n in range(10)])
    assert (got.verdict, got.ms_per_attempt, got.words) == (Verdict.FASTER, -20.0, "faster (200 ms in ten)")


def test_rising_times_are_slower() -> None:
    assert trend([500.0 + n for n in range(12)]).words == "slower (10 ms in ten)"


def test_a_tiny_slope_is_not_called_nought() -> None:
    assert trend([500.0 - n / 100 for n in range(12)]).words == "faster (under 1 ms in ten)"


def test_equal_times_are_level() -> None:
    assert trend([500.0] * 20).words == "level (over 20)"


def test_ups_and_downs_are_level() -> None:
    assert trend([500.0, 620.0] * 15).verdict is Verdict.LEVEL


def test_a_few_slips_do_not_hide_a_trend() -> None:
    values = [1000.0 - 10 * n for n in range(30)]
    for slip in (27, 12, 20):
        values[slip] = 9000.0
    got = trend(values)
    assert got.verdict is Verdict.FASTER
    assert got.ms_per_attempt == pytest.approx(-10.0, abs=1.0)


def test_the_trend_forgets_what_was_long_ago() -> None:
    assert trend([5000.0 - 100 * n for n in range(40)] + [900.0] * TREND_WINDOW).verdict is Verdict.LEVEL


@given(st.lists(times, min_size=TREND_MINIMUM, max_size=TREND_WINDOW))
def test_played_backwards_a_trend_turns_round(values: list[float]) -> None:
    turned = {Verdict.FASTER: Verdict.SLOWER, Verdict.SLOWER: Verdict.FASTER, Verdict.LEVEL: Verdict.LEVEL}
    there, back = trend(values), trend(values[::-1])
    assert back.verdict is turned[there.verdict]
    assert there.ms_per_attempt is not None
    assert back.ms_per_attempt == pytest.approx(-there.ms_per_attempt, abs=1e-6)


def order_with(inversions: int, count: int) -> list[float]:
    """Return the numbers below `count` in an order in which so many pairs fall (by Lehmer code)."""
    left = [float(n) for n in range(count)]
    order = []
    while left:
        ahead = min(inversions, len(left) - 1)
        inversions -= ahead
        order.append(left.pop(ahead))
    return order


@pytest.mark.parametrize("count", range(TREND_MINIMUM, TREND_WINDOW + 1))
def test_chance_alone_is_named_a_trend_at_most_once_in_twenty(count: int) -> None:
    # The exact chance of every score: the number of falling pairs in a random order is a sum of independent uniform
    # draws from 0..k for k below `count` (Mahonian distribution).
    chances = np.array([1.0])
    for k in range(count):
        chances = np.convolve(chances, np.ones(k + 1) / (k + 1))
    pairs = len(chances) - 1
    scores = np.abs(pairs - 2 * np.arange(pairs + 1))
    enough = min(score for score in range(pairs % 2, pairs + 1, 2) if chances[scores >= score].sum() <= 0.05)
    # The normal approximation may ask for one step more than the exact test, never for less.
    assert trend(order_with((pairs + enough + 2) // 2, count)).verdict is Verdict.FASTER
    assert trend(order_with((pairs - enough - 2) // 2, count)).verdict is Verdict.SLOWER
    assert trend(order_with((pairs + enough - 2) // 2, count)).verdict is Verdict.LEVEL
    assert trend(order_with((pairs - enough + 2) // 2, count)).verdict is Verdict.LEVEL


def test_a_share_over_time_is_of_the_newest_and_passes_over_what_is_not_known() -> None:
    counts = [(1, 1), (0, 0), (0, 1), (1, 2), (2, 2)]
    assert shares(counts) == [1.0, 0.5, 0.5, 4 / 6]
    assert shares(counts, newest=2) == [1.0, 0.5, 1 / 3, 3 / 4]
    assert shares([(0, 0)]) == []
