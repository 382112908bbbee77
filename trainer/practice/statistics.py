"""Statistics of the times of one change, robust against the odd slip and honest about how little a few times say."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from enum import StrEnum
from itertools import combinations, groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from trainer.practice.record import Series

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from trainer.practice.record import Attempt

WINDOW = 200
"""Median and interquartile range are exact over this many newest attempts; older ones say little of today's hands."""
LAST = 10
"""How many newest times are shown one by one."""
TREND_WINDOW = 40
"""The trend looks at this many newest times: long enough to tell, short enough to be about now."""
TREND_MINIMUM = 10
"""Fewest times a trend is told from: Kendall's normal approximation is used from ten values up (Kendall, Rank
Correlation Methods, 1975; from memory)."""
_comparable = attrgetter(*(field.name for field in fields(Series)))
"""What two attempts must agree in; the same as `Attempt.series`, without a value made for each of many attempts."""
CERTAIN = 1.959963984540054
"""Standard normal quantile of 0.975: intervals hold what they are about in 95 of 100 cases, and a trend is named where
chance alone does as much once in twenty series."""
NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation, for normal errors: 1 over the standard normal quantile of 0.75."""


class Verdict(StrEnum):
    """What the newest times say about the way a change is going."""

    FASTER = "faster"
    SLOWER = "slower"
    LEVEL = "level"
    """No rise or fall that could be told from chance."""
    TOO_FEW = "too few yet"


@dataclass(frozen=True, slots=True)
class Trend:
    """Whether a change is getting faster."""

    verdict: Verdict
    """What the times say."""
    ms_per_attempt: float | None
    """Theil-Sen slope in milliseconds an attempt, negative is faster; None where there are too few."""
    attempts: int
    """How many times it was told from."""

    @property
    def words(self) -> str:
        """The trend in a few plain words: `faster (12 ms in ten)`."""
        return f"{self.verdict} ({self.detail})"

    @property
    def detail(self) -> str:
        """How much, over how many: what the verdict rests on."""
        if self.ms_per_attempt is None:
            return f"{self.attempts} of {TREND_MINIMUM}"
        if self.verdict is Verdict.LEVEL:
            return f"over {self.attempts}"
        in_ten = abs(self.ms_per_attempt) * 10
        return f"{in_ten:.0f} ms in ten" if in_ten >= 1 else "under 1 ms in ten"


@dataclass(frozen=True, slots=True)
class Statistics:
    """What the attempts at one change say. Times are milliseconds, None where no attempt was timed."""

    count: int
    """How many attempts were looked at."""
    timed: int
    """How many of them have a time; paced ones have none."""
    best_ms: float | None
    """The shortest time, whether or not the change was said to be clean."""
    median_ms: float | None
    """Half of the times are shorter."""
    iqr_ms: float | None
    """Interquartile range: the width of the middle half, upper quartile minus lower quartile."""
    last_ten_ms: tuple[float, ...]
    """The newest times, at most ten, the newest last."""
    clean: int
    """How many were said to be clean."""
    answered: int
    """Of how many it was said at all whether they were clean."""
    trend: Trend
    """Whether the times are falling."""


def describe(attempts: Sequence[Attempt]) -> Statistics:
    """Return the statistics of `attempts`, which belong to one series and stand in the order they were played.

    Raises ValueError where times would be pooled that were taken in different ways, at different tempi, or of different
    changes.
    """
    if any(_comparable(attempt) != _comparable(attempts[0]) for attempt in attempts):
        raise ValueError("times of more than one series are never pooled")
    times = [attempt.change_ms for attempt in attempts if attempt.change_ms is not None]
    ordered = sorted(times)
    return Statistics(
        count=len(attempts),
        timed=len(times),
        best_ms=ordered[0] if times else None,
        median_ms=quantile(ordered, 0.5) if times else None,
        iqr_ms=iqr(ordered),
        last_ten_ms=tuple(times[-LAST:]),
        clean=sum(attempt.clean is True for attempt in attempts),
        answered=sum(attempt.clean is not None for attempt in attempts),
        trend=trend(times),
    )


def iqr(ordered: Sequence[float]) -> float | None:
    """Return the width of the middle half of ascending values; None where there are none."""
    return quantile(ordered, 0.75) - quantile(ordered, 0.25) if ordered else None


def share(clean: int, answered: int) -> str:
    """Return how many were clean, in words: `8 of 9` of those somebody spoke about."""
    return f"{clean} of {answered}" if answered else "not said"


def shares(counts: Iterable[tuple[int, int]], newest: int = LAST) -> list[float]:
    """Return the share of the newest `newest` attempts at each attempt, from 0 to 1, oldest first.

    Each count is (how many were, of how many it is known); attempts of which nothing is known are passed over.
    """
    answered = [(were, known) for were, known in counts if known]
    ends = range(1, len(answered) + 1)
    parts = (answered[max(0, end - newest) : end] for end in ends)
    return [sum(were for were, _ in part) / sum(known for _, known in part) for part in parts]


def quantile(ordered: Sequence[float], part: float) -> float:
    """Return the quantile of `ordered`, which ascends and is not empty; `part` runs from 0 to 1.

    Linear interpolation between the two nearest ranks at (n - 1) * part: definition 7 of Hyndman and Fan, Sample
    Quantiles in Statistical Packages, The American Statistician 50 (1996); also NumPy's default.
    """
    place = (len(ordered) - 1) * part
    low = math.floor(place)
    high = min(low + 1, len(ordered) - 1)
    weight = place - low
    return ordered[low] + (ordered[high] - ordered[low]) * weight


def trend(times: Sequence[float]) -> Trend:
    """Return the trend of `times` (milliseconds, oldest first) over the newest `TREND_WINDOW` of them.

    The slope is Theil's and Sen's: the median of the slopes of all pairs, so that up to 29 % of the times may be slips
    before it follows them (Sen, Journal of the American Statistical Association 63, 1968). It is named faster or slower
    only where the Mann-Kendall test finds it at the two-sided 5 % level; that test takes attempts as independent, which
    hands that tire within a sitting are not quite.
    """
    window = times[-TREND_WINDOW:]
    if len(window) < TREND_MINIMUM:
        return Trend(Verdict.TOO_FEW, None, len(window))
    pairs = list(combinations(enumerate(window), 2))
    slope = quantile(sorted((later - earlier) / (j - i) for (i, earlier), (j, later) in pairs), 0.5)
    score = sum((later > earlier) - (later < earlier) for (_, earlier), (_, later) in pairs)
    # The score moves in steps of two, so chance reaches it from one step nearer to nought (continuity correction).
    certain = abs(score) - 1 > CERTAIN * math.sqrt(score_variance(window))
    verdict = Verdict.LEVEL if not certain else Verdict.FASTER if score < 0 else Verdict.SLOWER
    return Trend(verdict, slope, len(window))


def score_variance(times: Sequence[float]) -> float:
    """Return the variance of the Mann-Kendall score over all orders of `times`, equal times allowed for.

    (n(n - 1)(2n + 5) - sum of t(t - 1)(2t + 5) over every group of t equal times) / 18 (Kendall 1975; from memory, and
    checked by enumeration in the tests).
    """

    def weight(n: int) -> int:
        return n * (n - 1) * (2 * n + 5)

    ties = (len(list(group)) for _, group in groupby(sorted(times)))
    return (weight(len(times)) - sum(weight(t) for t in ties)) / 18
