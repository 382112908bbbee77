"""What has become of changes over runs, days and weeks: records, what has improved most, and a pace to compare by.

Times of different series are never pooled here either. Where many changes are to be told by one number, each is held
against itself first and only the proportions are put together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.practice.statistics import CERTAIN, quantile

RECORD_FROM = 6
"""Fewest times of a run whose median may be a record: a visit of the plan, so that no lucky try makes one (ours)."""
PACE_FROM = 3
"""Fewest times of a change in a week or day whose median counts towards its pace (ours, no source)."""
ENDS = 20
"""So many first and so many last times of a change are compared."""
ENDS_FEWEST = 10
"""Fewest times at either end, none of them in both: the interval is told by the normal approximation, which is fair
from about ten up (Hollander and Wolfe, Nonparametric Statistical Methods, chapter 4; from memory)."""


@dataclass(frozen=True, slots=True)
class Shift:
    """How far one group of times lies from another, in milliseconds; negative where the later is the faster."""

    middle: float
    """The Hodges-Lehmann estimate: the median of all differences between a later time and an earlier one."""
    low: float
    """Lower end of the interval …"""
    high: float
    """… and upper end: distribution-free, after Moses."""


def shift(before: Sequence[float], after: Sequence[float], certain: float = CERTAIN) -> Shift:
    """Return how far the times `after` lie from those `before`; neither is empty.

    `certain` is the standard normal quantile of the interval. Its ends are the differences that rank C from either end,
    C = mn/2 - z sqrt(mn(m + n + 1)/12) rounded down, at least 1 (Hodges and Lehmann, Annals of Mathematical Statistics
    34, 1963; Hollander and Wolfe, section 4.3; from memory, and held against a published example in the tests). All
    times count as independent, which those of one sitting are not quite.
    """
    differences = sorted(later - earlier for earlier in before for later in after)
    m, n = len(before), len(after)
    rank = max(math.floor(m * n / 2 - certain * math.sqrt(m * n * (m + n + 1) / 12)), 1)
    return Shift(quantile(differences, 0.5), differences[rank - 1], differences[-rank])


@dataclass(frozen=True, slots=True)
class Improvement:
    """A change that has become faster for certain."""

    first_ms: float
    """Median of its first times."""
    now_ms: float
    """Median of its last ones."""
    shift: Shift
    """How far the last lie from the first; all of its interval is below nought."""

    @property
    def part(self) -> float:
        """By which part of the first median it fell, 0 to 1."""
        return 1 - self.now_ms / self.first_ms


def improvement(first: Sequence[float], last: Sequence[float], count: int) -> Improvement | None:
    """Return how much faster a change has become; None where the times are too few or chance may have done it.

    `first` and `last` are its first and last times in milliseconds, of `count` in all, so that none need stand in both.
    """
    each = min(ENDS, count // 2, len(first), len(last))
    if each < ENDS_FEWEST:
        return None
    early, late = first[:each], last[-each:]
    found = shift(early, late)
    before, now = quantile(sorted(early), 0.5), quantile(sorted(late), 0.5)
    return Improvement(before, now, found) if found.high < 0 and now < before else None


@dataclass(frozen=True, slots=True)
class RunTimes:
    """How one change went in one run."""

    at: float
    """When the run began: seconds since 1970-01-01 UTC."""
    timed: int
    """How many times were taken."""
    median_ms: float
    """Their median."""


@dataclass(frozen=True, slots=True)
class Record:
    """The fastest run at one change."""

    run: RunTimes
    """That run."""
    before_ms: float
    """What it beat: the fastest median before it."""


def record(runs: Sequence[RunTimes]) -> Record | None:
    """Return the record among the runs at one change, oldest first; a run of few times can be none.

    The first run that counts beats nothing and is no record yet; the same time again is none either.
    """
    counted = [run for run in runs if run.timed >= RECORD_FROM]
    best, found = math.inf, None
    for run in counted:
        if run.median_ms < best:
            found = None if best == math.inf else Record(run, best)
            best = run.median_ms
    return found


def paces(parts: Sequence[Mapping[int, float]]) -> list[float | None]:
    """Return the pace of each part of a stretch of practice, as a proportion: below 1 is faster than usual.

    Each part holds the median time of every change in it, by the number of its series. A change is held against its own
    usual time, the median of all its parts; the pace is the median of these proportions. Changes that were played in
    one part only say nothing; None where no other is left.
    """
    every: dict[int, list[float]] = {}
    for part in parts:
        for series, median_ms in part.items():
            every.setdefault(series, []).append(median_ms)
    usual = {series: quantile(sorted(medians), 0.5) for series, medians in every.items() if len(medians) > 1}
    found: list[float | None] = []
    for part in parts:
        shares = sorted(ms / usual[series] for series, ms in part.items() if usual.get(series))
        found.append(quantile(shares, 0.5) if shares else None)
    return found
