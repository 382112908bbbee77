"""The learning curve of one change: where its times are going, how sure that is, and how many tries a goal takes.

T = A + B exp(-aN): an exponential fits the times of one person at one task better than a power law (Heathcote, Brown
and Mewhort, The Power Law Repealed, Psychonomic Bulletin & Review 7, 2000). A is the time it levels off at, B what is
to be gained, a the rate. Every rate is kept with the weight the times give it (`curve_fit`), so that what is said of
the future says how sure it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TypeAlias

NEAR = 0.05
"""A gain of less than this part of the time is no gain worth waiting for."""
AHEAD = 50
"""A plateau gains less than that over so many more tries: a good sitting at one change."""
FURTHEST = 10_000
"""No goal is looked for beyond so many tries."""
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


def _fewest(certainty: Callable[[int], float], part: float) -> int | None:
    """Return the fewest tries at which `certainty` is `part` at least, which grows with them, for no curve rises."""
    if certainty(FURTHEST) < part:
        return None
    few, many = -1, FURTHEST
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if certainty(middle) >= part else (middle, many)
    return many


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
