"""What the log tells of each change that is worth a look today, for the plan to choose from."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from trainer.practice.plan import Look, look, worth_a_look
from trainer.practice.reviews import reviews

if TYPE_CHECKING:
    from trainer.log.history import History, Summary

_CLOSELY = 24
"""So many changes, the most promising by their summaries, are looked at closely."""


def looks(history: History, today: date, target: float) -> list[Look]:
    """Return what is known of the changes that promise most, each as it was timed last.

    `today` is the day where the player is; a change may take `target` milliseconds.
    """
    newest: dict[str, Summary] = {}
    for summary in history.summaries():
        known = newest.get(summary.series.change)
        if summary.median_ms is not None and (known is None or known.last_at < summary.last_at):
            newest[summary.series.change] = summary

    def promise(summary: Summary) -> float:
        return worth_a_look(summary.median_ms, _day(summary.last_at, today), today.toordinal(), target)

    chosen = sorted(newest.values(), key=promise, reverse=True)[:_CLOSELY]
    return [_look(history, summary, today, target) for summary in chosen]


def _look(history: History, summary: Summary, today: date, target: float) -> Look:
    from trainer.log.due import due_day

    attempts = history.attempts(summary.series)
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
