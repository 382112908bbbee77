"""What stands out, in sentences: records, what has improved most, what is stuck."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.errors import plain
from trainer.ui.played import TIMED, name_of, seconds
from trainer.ui.progress.stretches import day

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
    told = [_record(series, record) for series, record in found.records]
    if found.improved is not None:
        told.append(_improved(*found.improved))
    told += [_stuck(look) for look in found.stuck[:_STUCK]]
    return told


def since_recent(now: float) -> float:
    """Return the moment from which on a record is new; moments are seconds since 1970-01-01 UTC."""
    return now - RECENT_DAYS * _DAY_S


def _record(series: Series, found: Record) -> str:
    return (
        f"Record on {day(found.run.at)}: {_name(series)}, a run of {found.run.timed} with median "
        f"{seconds(found.run.median_ms)}, before it {seconds(found.before_ms)}."
    )


def _improved(series: Series, found: Improvement) -> str:
    low, high = sorted((-found.shift.low, -found.shift.high))
    return (
        f"Most improved: {_name(series)}, from {seconds(found.first_ms)} to {seconds(found.now_ms)}, "
        f"{found.part:.0%} less".replace("%", " %")
        + f" (95 % sure: {low / 1000:.2f} to {high / 1000:.2f} s faster)."
    )


def _stuck(look: Look) -> str:
    curve = look.curve
    level = f": {curve.attempts} tries level off at about {seconds(curve.level.middle)}" if curve is not None else ""
    return f"Stuck, {_name(look.series)}{level}, wanted {seconds(look.target_ms)}. Slower, in a segment, other fingers?"


def _name(series: Series) -> str:
    """Return a change by its names, and how it was timed: times taken in different ways are not the same record."""
    tempo = "" if series.tempo is None else f" {series.tempo:g}"
    return f"{plain(name_of(series.change))} ({TIMED[series.timing]}{tempo})"
