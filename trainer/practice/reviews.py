"""A day's practice of a change as one review, for a scheduler that asks when the change is due again.

Such schedulers are made for recall: an answer comes or it does not. That a change stays fast is something else, and to
plan it by the same intervals is an extrapolation; `CAVEAT` says so wherever a due date is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import groupby
from statistics import median

from trainer.practice.record import Attempt

CAVEAT = "Due dates come from a model made for recall; for the speed of a hand they are an extrapolation."
"""What goes with every due date."""
_CLEAN = ((0.8, 3), (0.5, 2), (0.0, 1))
"""(least share of clean, grade), the first that fits, where at least half of a day's tries were answered for. These
bounds are ours, no source."""
_LOST = 1.1
"""A change that is not fast enough and so many times as slow as on its best day has been lost again."""


class Grade(IntEnum):
    """How a day's practice of a change went; the numbers are those of the usual four-button schedulers."""

    AGAIN = 1
    """Lost: mostly not clean, or slower than it has been."""
    HARD = 2
    """On the way."""
    GOOD = 3
    """Clean and fast enough. Nothing is graded easier: longer intervals than these would stretch the model further."""


@dataclass(frozen=True, slots=True)
class Review:
    """One day's practice of one change."""

    day: int
    """Number of the day where the player is, 1 being 0001-01-01."""
    grade: Grade
    """How it went."""


def reviews(attempts: Sequence[Attempt], days: Sequence[int], target_ms: float) -> tuple[Review, ...]:
    """Return one review for each day of `attempts`, which are of one series and oldest first, `days` beside them.

    A day is as good as the worse of two: how many of its tries were clean, where the player spoke about half of them;
    and its median time, which is good within `target_ms`, else judged by the best day before it.
    """
    found: list[Review] = []
    best = float("inf")
    for day, group in groupby(zip(days, attempts, strict=True), key=lambda pair: pair[0]):
        played = [attempt for _, attempt in group]
        times = [attempt.change_ms for attempt in played if attempt.change_ms is not None]
        grade = _by_clean(played)
        if times:
            now = median(times)
            grade = min(grade, _by_time(now, best, target_ms))
            best = min(best, now)
        found.append(Review(day, grade))
    return tuple(found)


def _by_clean(played: Sequence[Attempt]) -> Grade:
    answered = [attempt.clean for attempt in played if attempt.clean is not None]
    if 2 * len(answered) < len(played):
        return Grade.GOOD
    share = sum(answered) / len(answered)
    return Grade(next(grade for least, grade in _CLEAN if share >= least))


def _by_time(now: float, best: float, target_ms: float) -> Grade:
    if now <= target_ms:
        return Grade.GOOD
    return Grade.HARD if now <= _LOST * best else Grade.AGAIN
