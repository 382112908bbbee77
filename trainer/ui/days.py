"""Days as the player lives them: by the clock on the wall, where the player is.

Moments are seconds since 1970-01-01 UTC. What a log that was damaged or merged holds may be beyond any calendar.
"""

from __future__ import annotations

from datetime import date, datetime

_NO_DAY = "-"
"""Stands for a day that no calendar knows."""


def day_of(at: float) -> int:
    """Return the number of the day of a moment; of one that no calendar knows, the first or last that one does."""
    moment = _local(at)
    return (date.min if at < 0 else date.max).toordinal() if moment is None else moment.toordinal()


def day_name(at: float) -> str:
    """Return the day of a moment: `2026-11-26`."""
    return _written(at, "%Y-%m-%d")


def minute_name(at: float) -> str:
    """Return the day and the time of day of a moment: `2026-11-26 18:05`."""
    return _written(at, "%Y-%m-%d %H:%M")


def _written(at: float, form: str) -> str:
    moment = _local(at)
    return _NO_DAY if moment is None else moment.strftime(form)


def _local(at: float) -> datetime | None:
    try:
        return datetime.fromtimestamp(at)
    except (OverflowError, ValueError, OSError):
        return None
