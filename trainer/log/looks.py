"""What the log tells of each change that is worth a look today, for the plan to choose from."""

from __future__ import annotations

import sqlite3
from datetime import date
from typing import TYPE_CHECKING

from trainer.practice.plan import Look, look, worth_a_look
from trainer.practice.reviews import reviews

if TYPE_CHECKING:
    from trainer.log.history import History, TimedLast
    from trainer.practice.record import Series

_CLOSELY = 24
"""So many changes, the most promising by their summaries, are looked at closely."""


def looks(history: History, today: date, target: float) -> list[Look]:
    """Return what is known of the changes that promise most, each as it was timed last.

    `today` is the day where the player is; a change may take `target` milliseconds.
    """

    def promise(known: TimedLast) -> float:
        return worth_a_look(known.median_ms, _day(known.last_at, today), today.toordinal(), target)

    chosen = sorted(history.timed_last(), key=promise, reverse=True)[:_CLOSELY]
    return [_look(history, history.series(known.number), today, target) for known in chosen]


def _look(history: History, series: Series, today: date, target: float) -> Look:
    from trainer.log.due import due_day

    attempts = history.attempts(series)
    if not attempts:
        raise sqlite3.DatabaseError("a change that has times and was never tried")
    days = [_day(attempt.at, today) for attempt in attempts]
    return look(
        attempts, days[-1], due_day(reviews(attempts, days, target)), target, history.title_of(attempts[-1].run)
    )


def _day(at: float, today: date) -> int:
    """Return the number of a moment's day where the player is; one that no calendar knows, or to come, is today."""
    try:
        return min(date.fromtimestamp(at), today).toordinal()
    except (OverflowError, ValueError, OSError):
        return today.toordinal()
