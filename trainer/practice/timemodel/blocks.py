"""A stretch of tries at one change, summed up so that slips do not carry: all that the model takes from its times."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.practice.record import Series
from trainer.practice.statistics import NORMAL_MAD, quantile

FEWEST = 5
"""No stretch of fewer tries than this says anything (ours, no source)."""
EARLY, NEWEST = 20, 40
"""The model looks at the first so many tries of a change, and at the newest so many of those after them."""
_BOUND = 2.5
"""A time further from the median than so many spreads counts as if it lay there (winsorised)."""
_LEAST_SPREAD = 0.02
"""A spread of less than 2 % is not to be believed."""
_DOUBLED = 8
"""The mean of so many tries is off by as much again as the days themselves differ (ours, no source)."""


@dataclass(frozen=True, slots=True)
class Block:
    """Some tries in a row at one change, timed in one way."""

    tries: int
    """How many."""
    log_ms: float
    """The mean of the natural logarithms of their times in milliseconds, slips drawn in."""
    familiar: float
    """The mean of the logarithms to base 2 of the numbers of the tries, the very first being number 1."""

    @property
    def weight(self) -> float:
        """What it counts: 1 for endlessly many tries, half of that for `_DOUBLED`."""
        return self.tries / (self.tries + _DOUBLED)


@dataclass(frozen=True, slots=True)
class Past:
    """What was played of one series, as far as the model looks at it."""

    series: Series
    """The change and how it was timed."""
    blocks: tuple[Block, ...]
    """One or two, the older first."""


def past(series: Series, early: Sequence[float], newest: Sequence[float], count: int) -> Past | None:
    """Return what the model takes from a series of `count` times; None where they are too few.

    `early` are its first `EARLY` times in milliseconds and `newest` its last `NEWEST`, both oldest first; where the
    two overlap, what is in both counts as early.
    """
    late = newest[-max(min(NEWEST, count - EARLY), 0) :] if count > EARLY else ()
    parts = ((early, 1), (late, count - len(late) + 1))
    blocks = tuple(block(times, first) for times, first in parts if len(times) >= FEWEST)
    return Past(series, blocks) if blocks else None


def block(times: Sequence[float], first: int) -> Block:
    """Return the block of `times` in milliseconds, the first of them try number `first`.

    Slips only ever make a change slower and would carry a mean: a logarithm further than `_BOUND` spreads from the
    median is drawn in to there, the spread told from the median absolute deviation.
    """
    logs = sorted(math.log(max(ms, 1.0)) for ms in times)
    middle = quantile(logs, 0.5)
    spread = max(NORMAL_MAD * quantile(sorted(abs(log - middle) for log in logs), 0.5), _LEAST_SPREAD)
    low, high = middle - _BOUND * spread, middle + _BOUND * spread
    first_in, last_in = bisect_left(logs, low), bisect_right(logs, high)
    drawn_in = first_in * low + (len(logs) - last_in) * high
    mean = (drawn_in + sum(logs[first_in:last_in])) / len(logs)
    last = first + len(logs) - 1
    familiar = (math.lgamma(last + 1) - math.lgamma(first)) / math.log(2) / len(logs)
    return Block(len(logs), mean, familiar)
