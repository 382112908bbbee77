"""The learning curve of one change: where its times are going, how sure that is, and how many tries a goal takes.

T = A + B exp(-aN): an exponential fits the times of one person at one task better than a power law (Heathcote, Brown
and Mewhort, The Power Law Repealed, Psychonomic Bulletin & Review 7, 2000). A, the time it levels off at, and B, what
is to be gained, follow by linear least squares once the rate a is given, so only the rate is searched (variable
projection: Golub and Pereyra, SIAM Journal on Numerical Analysis 10, 1973; from memory). Every rate is kept with the
weight the times give it, so that what is said of the future says how sure it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from operator import mul
from typing import NamedTuple, TypeAlias

from trainer.practice.statistics import quantile

FEWEST = 15
"""No curve from fewer times than this (ours, no source: a rate cannot be told from fewer)."""
NEAR = 0.05
"""A gain of less than this part of the time is no gain worth waiting for."""
AHEAD = 50
"""A plateau gains less than that over so many more tries: a good sitting at one change."""
FURTHEST = 10_000
"""No goal is looked for beyond so many tries."""
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
_NORMAL_MAD = 1.4826
"""Median absolute deviation to standard deviation, for normal errors."""
_CONSISTENT = 1.16
"""For normal errors the biweight's own errors look smaller than they are by this factor in variance: 1.053, which is
the cost of 95 % efficiency, over (1 - 6/c^2 + 15/c^4) / (1 - 2/c^2 + 3/c^4)^2, from the normal's even moments."""
_UNLIKELY = 12.0
"""A rate this many units of log likelihood behind the best is left out: its weight is below 1 in 100,000."""


_HALVINGS = 36
"""A range of a minute halved so often is less than a millionth of a millisecond."""


class Course(StrEnum):
    """What the curve says of the way the times go."""

    TOO_FEW = "not enough yet"
    """They are too few, or scatter too much, to tell."""
    FALLING = "still falling"
    """There is more to be gained by going on like this."""
    PLATEAU = "plateau"
    """Going on like this brings next to nothing."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A number and how far it may be off."""

    middle: float
    """It lies as likely above as below."""
    low: float
    """One in ten that it lies below this …"""
    high: float
    """… and one in ten above this, so between the two with 80 % certainty."""


@dataclass(frozen=True, slots=True)
class ToGoal:
    """How many more tries a goal takes, going on like this. None: never, or not within `FURTHEST`."""

    tries: int | None
    """As likely more as fewer."""
    low: int | None
    """With luck: one in ten that so few will do."""
    high: int | None
    """Without: one in ten that it takes more."""

    @property
    def words(self) -> str:
        """The same in a few plain words."""
        if self.tries == 0:
            return "reached"
        if self.tries is None:
            return "not to be expected by going on like this"
        most = "or many more" if self.high is None else f"to {self.high:,}"
        return f"about {self.tries:,} more tries ({self.low:,} {most})"


@dataclass(frozen=True, slots=True)
class Rate:
    """One rate of learning and what the times are like if it is the true one."""

    weight: float
    """How likely it is, all rates together making 1."""
    decay: float
    """exp(-a): the part of what is left to be gained that is left after one more try."""
    level: float
    """A in milliseconds."""
    gain: float
    """B in milliseconds."""
    doubt: tuple[float, float, float]
    """Variance of A, covariance, variance of B, in square milliseconds."""

    def at(self, level_share: float, gain_share: float) -> tuple[float, float, float]:
        """Return (weight, mean, standard deviation) of `level_share` A + `gain_share` B."""
        aa, ab, bb = self.doubt
        variance = level_share**2 * aa + 2 * level_share * gain_share * ab + gain_share**2 * bb
        return self.weight, level_share * self.level + gain_share * self.gain, math.sqrt(max(variance, 0.0))


_Shares: TypeAlias = Callable[[Rate], tuple[float, float]]
"""Which parts of A and of B make up what is asked for."""


def _share(number: int) -> _Shares:
    """Return the shares of the expected time at try `number`, the first being number 0."""
    return lambda rate: (1.0, rate.decay**number)


def _share_of_gain(number: int, ahead: int) -> _Shares:
    """Return the shares of what is gained from try `number` on in `ahead` more."""
    return lambda rate: (0.0, rate.decay**number * (1 - rate.decay**ahead))


@dataclass(frozen=True, slots=True)
class Curve:
    """The learning curve of one change, from its times in the order played."""

    attempts: int
    """How many times it rests on."""
    spread_ms: float
    """How far single times lie off it: a standard deviation that outliers do not stretch."""
    rates: tuple[Rate, ...]
    """Every rate that the times allow."""

    @property
    def best(self) -> Rate:
        """The likeliest rate."""
        return max(self.rates, key=lambda rate: rate.weight)

    @property
    def level(self) -> Interval:
        """The time in milliseconds that it levels off at, A; never negative."""
        return self._interval(lambda _: (1.0, 0.0))

    def time(self, ahead: int = 0) -> Interval:
        """Return the expected time in milliseconds `ahead` tries after the last one; single times scatter about it."""
        return self._interval(_share(self.attempts - 1 + ahead))

    def fitted(self, number: float) -> float:
        """Return what it says of its times themselves, in milliseconds, the first being number 0; also in between."""
        return math.fsum(rate.weight * (rate.level + rate.gain * rate.decay**number) for rate in self.rates)

    def gain(self, ahead: int = AHEAD) -> Interval:
        """Return how many milliseconds the next `ahead` tries are expected to bring; never negative."""
        return self._interval(_share_of_gain(self.attempts - 1, ahead))

    @property
    def course(self) -> Course:
        """What it says of the way the times go."""
        now, gains = self._parts(_share(self.attempts - 1)), self._parts(_share_of_gain(self.attempts - 1, AHEAD))
        little = _below(NEAR * max(_quantile(now, 0.5), 0.0), gains)
        if little >= 0.9:
            return Course.PLATEAU
        return Course.FALLING if little <= 0.5 and _below(0.0, gains) < 0.1 else Course.TOO_FEW

    def to_goal(self, goal_ms: float) -> ToGoal:
        """Return how many more tries it takes until the expected time is down to `goal_ms`."""

        @cache
        def certainty(ahead: int) -> float:
            number = self.attempts - 1 + ahead
            return _below(goal_ms, [rate.at(1.0, rate.decay**number) for rate in self.rates])

        low, tries, high = (_fewest(certainty, part) for part in (0.1, 0.5, 0.9))
        return ToGoal(tries, low, high)

    def _parts(self, shares: _Shares) -> list[tuple[float, float, float]]:
        return [rate.at(*shares(rate)) for rate in self.rates]

    def _interval(self, shares: _Shares) -> Interval:
        parts = self._parts(shares)
        low, middle, high = (max(_quantile(parts, part), 0.0) for part in (0.1, 0.5, 0.9))
        return Interval(middle, low, high)


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
        spread = max(_NORMAL_MAD * quantile(sorted(map(abs, errors)), 0.5), 1.0)
        if weigh is not None:
            weights = [weigh(abs(error) / spread) for error in errors]
    return Curve(count, spread, _weighed(rates))


def _fewest(certainty: Callable[[int], float], part: float) -> int | None:
    """Return the fewest tries at which `certainty` is `part` at least, which grows with them, for no curve rises."""
    if certainty(FURTHEST) < part:
        return None
    few, many = -1, FURTHEST
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if certainty(middle) >= part else (middle, many)
    return many


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


def _below(value: float, parts: Sequence[tuple[float, float, float]]) -> float:
    """Return how likely a mixture of normal distributions (weight, mean, deviation) lies at or below `value`."""
    total = 0.0
    for weight, mean, sd in parts:
        total += weight * (0.5 * (1 + math.erf((value - mean) / (sd * math.sqrt(2)))) if sd else value >= mean)
    return total


def _quantile(parts: Sequence[tuple[float, float, float]], part: float) -> float:
    """Return the quantile of a mixture of normal distributions, by halving."""
    low = min(mean - 6 * sd for _, mean, sd in parts)
    high = max(mean + 6 * sd for _, mean, sd in parts)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _below(middle, parts) < part else (low, middle)
    return (low + high) / 2
