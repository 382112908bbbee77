"""The learning curve that times tell: every rate of learning with the weight they give it.

Once the rate is given, the time it levels off at and what is to be gained follow by linear least squares, so only the
rate is searched (variable projection: Golub and Pereyra, SIAM Journal on Numerical Analysis 10, 1973; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from operator import mul
from typing import NamedTuple

from trainer.practice.curve import Curve, Rate
from trainer.practice.statistics import NORMAL_MAD, quantile

FEWEST = 15
"""No curve from fewer times than this (ours, no source: a rate cannot be told from fewer)."""
_HALF_LIVES = tuple(1.5 * 1.22**step for step in range(34))
"""Tries in which half of what is to be gained is gained, 1.5 to about 1,060: each of these rates is tried …"""
_ROUGHLY = _HALF_LIVES[::2]
"""… and these suffice to tell which times lie off the curve: the best of them is half a step off at the most."""
_HUBER = 1.345
"""Errors beyond this many spreads count less, in proportion (Huber, Robust Statistics, 1981; from memory)."""
_BIWEIGHT = 4.685
"""Errors beyond this many spreads count nothing at all, those within by (1 - (e/c)^2)^2 (Beaton and Tukey, 1974; from
memory). Slips only ever make a change slower, so it is not enough that they count less. Both constants are 95 %
efficient where there are no outliers."""
_CONSISTENT = 1.16
"""For normal errors the biweight's own errors look smaller than they are by this factor in variance: 1.053, which is
the cost of 95 % efficiency, over (1 - 6/c^2 + 15/c^4) / (1 - 2/c^2 + 3/c^4)^2, from the normal's even moments."""
_UNLIKELY = 12.0
"""A rate this many units of log likelihood behind the best is left out: its weight is below 1 in 100,000."""


def fit(times: Sequence[float]) -> Curve | None:
    """Return the curve of `times` (milliseconds, oldest first); None where there are fewer than `FEWEST`.

    A and B are never negative: nobody changes in less than no time, and a curve of learning does not rise. Outliers
    count less or not at all: the weights follow from a first fit by Huber's rule, then once by the biweight. Times that
    carry on from older ones lie on the same curve with a smaller B.
    """
    count = len(times)
    if count < FEWEST:
        return None
    weights, spread = [1.0] * count, 0.0
    rates: list[Rate] = []
    for weigh in (_huber, _huber, _biweight, None):
        found, tried = sums(times, weights), _HALF_LIVES if weigh is None else _ROUGHLY
        rates = [at_rate(0.5 ** (1 / half), weights, found) for half in tried]
        best = max(rates, key=lambda rate: rate.weight)
        powers, _ = _powers(best.decay, count)
        errors = [time - best.level - best.gain * power for time, power in zip(times, powers, strict=True)]
        # A spread below a millisecond is not to be believed, and nought cannot be divided by.
        spread = max(NORMAL_MAD * quantile(sorted(map(abs, errors)), 0.5), 1.0)
        if weigh is not None:
            weights = [weigh(abs(error) / spread) for error in errors]
    return Curve(count, spread, _weighed(rates))


def _huber(error: float) -> float:
    return 1.0 if error <= _HUBER else _HUBER / error


def _biweight(error: float) -> float:
    return (1 - (error / _BIWEIGHT) ** 2) ** 2 if error < _BIWEIGHT else 0.0


class Sums(NamedTuple):
    """What the fits at all rates share: sums over the times y with their weights w."""

    weighted: list[float]
    """Each w y."""
    s: float
    """Sum of w."""
    sy: float
    """Sum of w y."""
    syy: float
    """Sum of w y^2."""


def sums(times: Sequence[float], weights: Sequence[float]) -> Sums:
    """Return the sums that every fit of `times` with these weights begins from."""
    weighted = list(map(mul, weights, times))
    return Sums(weighted, sum(weights), sum(weighted), sum(map(mul, weighted, times)))


def at_rate(decay: float, weights: Sequence[float], found: Sums) -> Rate:
    """Return the weighted least-squares fit of A and B at one rate, its weight still the log likelihood."""
    powers, squares = _powers(decay, len(weights))
    weighted, s, sy, syy = found
    sx, sxx, sxy = sum(map(mul, weights, powers)), sum(map(mul, weights, squares)), sum(map(mul, weighted, powers))
    det = s * sxx - sx * sx
    gain = (s * sxy - sx * sy) / det
    level = (sy - gain * sx) / s
    if gain < 0:
        level, gain = sy / s, 0.0
    elif level < 0:
        level, gain = 0.0, sxy / sxx
    # The sum of squares multiplied out. What is lost to rounding is far below the millisecond that is the least below.
    rss = syy + level * (level * s - 2 * sy) + gain * (gain * sxx + 2 * level * sx - 2 * sxy)
    # What was left out is no evidence either. One millisecond at the least, as for the spread.
    free = max(s - 2, 1.0)
    variance = max(_CONSISTENT * rss / free, 1.0)
    doubt = (variance * sxx / det, -variance * sx / det, variance * s / det)
    return Rate(-free / 2 * math.log(variance), decay, level, gain, doubt)


@lru_cache(maxsize=1024)
def _powers(decay: float, count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the powers of `decay` from 0 up, and their squares."""
    powers = tuple(decay**number for number in range(count))
    return powers, tuple(power * power for power in powers)


def _weighed(rates: Sequence[Rate]) -> tuple[Rate, ...]:
    """Return the rates that are not too unlikely, their log likelihoods turned into weights that make 1."""
    best = max(rate.weight for rate in rates)
    likely = [(math.exp(rate.weight - best), rate) for rate in rates if rate.weight > best - _UNLIKELY]
    total = sum(weight for weight, _ in likely)
    return tuple(Rate(weight / total, rate.decay, rate.level, rate.gain, rate.doubt) for weight, rate in likely)
