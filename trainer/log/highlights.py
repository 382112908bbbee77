"""What stands out in the log: new records, what has improved most, what is stuck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.practice.progress import ENDS, ENDS_FEWEST, Improvement, Record, improvement, record
from trainer.practice.record import Series

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trainer.log.history import History, Summary
    from trainer.practice.plan import Look

_PLAYED_LAST = 100
"""So many changes, those played last, are looked at: the same after a million changes as after a thousand."""
_MOST = 3
"""So many records are told, the newest."""


@dataclass(frozen=True, slots=True)
class Highlights:
    """What stands out."""

    records: tuple[tuple[Series, Record], ...]
    """Fastest runs of the last weeks, the newest first."""
    improved: tuple[Series, Improvement] | None
    """The change whose median fell by the largest part, beyond chance; None where none has."""
    stuck: tuple[Look, ...]
    """Changes that have levelled off above their target, the slowest first; by the rule of the plan."""


def highlights(history: History, looks: Iterable[Look], since: float) -> Highlights:
    """Return what stands out among the changes played last: records since the moment `since`, all else over their life.

    `looks`: what is known of the changes that promise most (`log.looks`).
    """
    newest = history.played_last(_PLAYED_LAST)
    stuck = sorted((look for look in looks if look.stuck), key=lambda look: -(look.now.median_ms or 0.0))
    return Highlights(_records(history, newest, since), _improved(history, newest), tuple(stuck))


def _records(history: History, newest: list[Summary], since: float) -> tuple[tuple[Series, Record], ...]:
    recent = (summary.series for summary in newest if summary.last_at >= since)
    held = ((series, record(history.runs_of_series(series))) for series in recent)
    fresh = [(series, found) for series, found in held if found is not None and found.run.at >= since]
    return tuple(sorted(fresh, key=lambda pair: -pair[1].run.at)[:_MOST])


def _improved(history: History, newest: list[Summary]) -> tuple[Series, Improvement] | None:
    found: list[tuple[Series, Improvement]] = []
    for summary in newest:
        if summary.count >= 2 * ENDS_FEWEST:
            first, last = history.ends(summary.series, ENDS, ENDS)
            # Tries without a time count too, so that both ends may share times; that only makes a fall harder to find.
            better = improvement(first, last, summary.count)
            if better is not None:
                found.append((summary.series, better))
    return max(found, key=lambda pair: pair[1].part, default=None)
