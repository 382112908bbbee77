"""How the changes stand, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trainer.commands.progress.keys import split
from trainer.errors import plain
from trainer.practice.measures import NUMBERS
from trainer.practice.statistics import WINDOW, Trend, describe
from trainer.ui.played import name_of

if TYPE_CHECKING:
    from trainer.log.history import History, Summary
    from trainer.practice.measures import Measures
    from trainer.practice.record import Attempt

_NUMBERS = tuple(name for name in NUMBERS if name != "change_ms")


def change_document(history: History, summary: Summary, limit: int) -> dict[str, Any]:
    """Return one series as JSON."""
    series = summary.series
    attempts = history.attempts(series, newest=max(limit, WINDOW))
    now = describe(attempts[-WINDOW:])
    change = plain(series.change)
    tuning, capo, before, after = split(change)
    return {
        "change": change,
        "name": plain(name_of(series.change)),
        "tuning": tuning.split(),
        "capo": int(capo) if capo.isdecimal() else None,
        "from": before,
        "to": after or None,
        "timing": series.timing,
        "tempo": series.tempo,
        "texture": series.texture,
        "source": plain(series.source),
        "how": series.how,
        "count": summary.count,
        "best_ms": summary.best_ms,
        "median_ms": now.median_ms,
        "iqr_ms": now.iqr_ms,
        "last_ten_ms": now.last_ten_ms,
        "clean": summary.clean,
        "answered": summary.answered,
        "measured": summary.measured,
        "gap_ms": summary.gap_ms,
        "spread_ms": summary.spread_ms,
        "late_ms": summary.late_ms,
        "kept": summary.kept,
        "kept_answered": summary.kept_answered,
        "trend": _trend(now.trend),
        "last_at": summary.last_at,
        "attempts": [_attempt(attempt) for attempt in attempts[-limit:]],
    }


def _trend(trend: Trend) -> dict[str, Any]:
    return {
        "verdict": trend.verdict,
        "ms_per_attempt": trend.ms_per_attempt,
        "attempts": trend.attempts,
        "words": trend.words,
    }


def _attempt(attempt: Attempt) -> dict[str, Any]:
    return {
        "id": plain(attempt.id),
        "run": plain(attempt.run),
        "at": attempt.at,
        "change_ms": attempt.change_ms,
        "clean": attempt.clean,
        "source": plain(attempt.source),
        "timing": attempt.timing,
        "tempo": attempt.tempo,
        "measures": None if attempt.measures is None else _measures(attempt.measures),
    }


def _measures(measures: Measures) -> dict[str, Any]:
    """Return what was heard of one attempt as JSON; the change time stands with the attempt."""
    return {
        **{name: getattr(measures, name) for name in _NUMBERS},
        "direction": measures.direction,
        "kept_down": {str(finger): answer for finger, answer in measures.kept_down.items()},
        "guides": {str(finger): answer for finger, answer in measures.guides.items()},
        "wrong": measures.wrong,
        "octaves": measures.octaves,
        "missing": measures.missing,
        "expected": measures.expected,
        "device": plain(measures.device),
        "calibration": plain(measures.calibration),
    }
