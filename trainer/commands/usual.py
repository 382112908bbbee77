"""How long each change usually takes a player, as sheets print it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trainer.log.history import Summary


def usual_times(summaries: Iterable[Summary]) -> Mapping[str, tuple[float, float]]:
    """Return the usual and the best time of each change in milliseconds, as it was timed in the way used most."""
    found: dict[str, tuple[float, float]] = {}
    for summary in sorted(summaries, key=lambda summary: -summary.count):
        if summary.median_ms is not None and summary.best_ms is not None:
            found.setdefault(summary.series.change, (summary.median_ms, summary.best_ms))
    return found
