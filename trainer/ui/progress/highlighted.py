"""What stands out, in sentences: records, what has improved most, what is stuck."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.errors import plain
from trainer.ui.days import day_name
from trainer.ui.played import TIMED, name_of

if TYPE_CHECKING:
    from trainer.log.highlights import Highlights
    from trainer.practice.plan import Look
    from trainer.practice.progress import Improvement, Record
    from trainer.practice.record import Series

RECENT_DAYS = 28
"""A record counts as new for so many days."""
_DAY_S = 86_400.0
_STUCK = 3
"""So many stuck changes are named."""


def sentences(found: Highlights) -> list[str]:
    """Return a sentence for each thing that stands out; none where nothing does."""
    told = [] if found.improved is None else [_improved(*found.improved)]
    told += [_stuck(look) for look in found.stuck[:_STUCK]]
    return told + [_record(series, record) for series, record in found.records]


def since_recent(now: float) -> float:
    """Return the moment from which on a record is new; moments are seconds since 1970-01-01 UTC."""
    return now - RECENT_DAYS * _DAY_S


def _record(series: Series, found: Record) -> str:
    run = found.run
    times = f"median {run.median_ms:,.0f} ms over {run.timed} tries, {found.before_ms:,.0f} before"
    return f"Record on {day_name(run.at)}: {_name(series)}, {times}."


def _improved(series: Series, found: Improvement) -> str:
    part = f"{found.part:.0%}".replace("%", " %")
    sure = f"95 % sure: {-found.shift.high:,.0f} to {-found.shift.low:,.0f} ms"
    return f"Most improved: {_name(series)}, {found.first_ms:,.0f} to {found.now_ms:,.0f} ms, {part} less ({sure})."


def _stuck(look: Look) -> str:
    curve = look.curve
    level = "" if curve is None else f", level at about {curve.level.middle:,.0f} ms over {curve.attempts} tries"
    advice = "slower, in a segment, or other fingers"
    return f"Stuck: {_name(look.series)}{level}, wanted {look.target_ms:,.0f}: {advice}."


def _name(series: Series) -> str:
    """Return a change by its names, and how it was timed: times taken in different ways are not the same record."""
    tempo = "" if series.tempo is None else f" {series.tempo:g}"
    return f"{plain(name_of(series.change))} ({TIMED[series.timing]}{tempo})"
