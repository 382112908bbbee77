"""How each change stands: what the log holds of it and what this session adds, never pooled across ways of timing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from trainer.practice.climb import Played, played
from trainer.practice.plan import NOW
from trainer.practice.record import Attempt, Series
from trainer.practice.statistics import WINDOW, Statistics, describe
from trainer.ui.days import day_of

RUNS = 500
"""So many of the newest runs are looked through for those of the drill."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """What the log holds of one series."""

    best_ms: float | None
    """The shortest of all its times."""
    attempts: tuple[Attempt, ...]
    """Its newest attempts, oldest first."""


@dataclass(frozen=True, slots=True)
class Past:
    """What the log holds of a drill and its changes."""

    series: Mapping[Series, Earlier]
    """Of each series of its changes, in whatever drill they were practised."""
    runs: tuple[Played, ...]
    """Its newest runs to the beat, oldest first."""


def read_past(path: Path, drill: str, changes: Collection[str]) -> Past:
    """Return what the log at `path` holds of the drill of this title and of these changes.

    Raises ChangeoverError where it cannot be read.
    """
    from trainer.log.history import reading

    with reading(path) as history:
        series = {
            summary.series: Earlier(summary.best_ms, tuple(history.attempts(summary.series)))
            for summary in history.summaries()
            if summary.series.change in changes
        }
        runs = (played(run, day_of(run.at)) for run in reversed(history.runs(newest=RUNS)) if run.drill == drill)
        return Past(series, tuple(run for run in runs if run is not None))


class Standings:
    """Every series of a drill with its attempts, this session's among them."""

    def __init__(self) -> None:
        """Begin with nothing known."""
        self._best: dict[Series, float | None] = {}
        self._attempts: dict[Series, dict[str, Attempt]] = {}
        self.runs: tuple[Played, ...] = ()
        """Paced runs of the drill in the log, from before this session."""

    def learn(self, past: Past) -> None:
        """Take in what the log holds; what this session has added meanwhile stays."""
        self.runs = past.runs
        for series, known in past.series.items():
            own = self._attempts.get(series, {})
            self._best[series] = known.best_ms
            self._attempts[series] = {attempt.id: attempt for attempt in known.attempts} | own

    def add(self, attempt: Attempt) -> None:
        """Add a landed change."""
        self._attempts.setdefault(attempt.series, {})[attempt.id] = attempt

    def take_back(self, attempt: Attempt) -> None:
        """Remove a change that was not one."""
        self._attempts.get(attempt.series, {}).pop(attempt.id, None)

    def mark(self, attempt: Attempt, clean: bool | None) -> None:
        """Take in what was said of a change."""
        if attempt.id in self._attempts.get(attempt.series, {}):
            self._attempts[attempt.series][attempt.id] = replace(attempt, clean=clean)

    def newest(self, change: str) -> Statistics | None:
        """Return how a change stands as it was timed last, in that one way; None where it never was timed."""
        timed = [
            (last.at, series)
            for series, attempts in self._attempts.items()
            if series.change == change
            and (last := next((one for one in reversed(attempts.values()) if one.change_ms is not None), None))
        ]
        return self.of(max(timed, key=lambda pair: pair[0])[1], NOW) if timed else None

    def of(self, series: Series, window: int = WINDOW) -> Statistics:
        """Return how `series` stands over its newest attempts; the best time is the best of all."""
        newest = tuple(self._attempts.get(series, {}).values())[-window:]
        now = describe(newest)
        return replace(now, best_ms=_least((now.best_ms, self._best.get(series))))


def _least(times: Iterable[float | None]) -> float | None:
    return min((time for time in times if time is not None), default=None)
