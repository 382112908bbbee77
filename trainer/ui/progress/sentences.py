"""The numbers of one series as a player reads them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from trainer.practice.beats import late
from trainer.practice.statistics import LAST, describe, share
from trainer.ui.played import seconds

if TYPE_CHECKING:
    from trainer.practice.record import Attempt


def sentence(attempts: Sequence[Attempt]) -> str:
    """Return the statistics of one series in words; what a line over time tells of heard changes is not said again."""
    found = describe(attempts)
    heard = [attempt.measures for attempt in attempts if attempt.measures is not None]
    if found.median_ms is None or found.iqr_ms is None or found.best_ms is None:
        delays = [ms for measures in heard if (ms := late(measures)) is not None]
        if delays:
            last = " ".join(f"{ms:.0f}" for ms in delays[-LAST:])
            return f"{found.count} heard; the last ten were late by, ms: {last}"
        return f"{found.count} played in tempo, not timed one by one; the runs say how many landed."
    last = " ".join(f"{ms / 1000:.2f}" for ms in found.last_ten_ms)
    clean = "" if heard else f"; clean {share(found.clean, found.answered)}"
    return (
        f"best {seconds(found.best_ms)}, median {seconds(found.median_ms)}, middle half within "
        f"{seconds(found.iqr_ms)}; {found.trend.words}{clean}. Last ten: {last}"
    )
