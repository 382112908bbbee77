"""Questions to the log, answered on a read-only connection that lives as long as the question."""

from __future__ import annotations

import math
import sqlite3
from contextlib import closing, contextmanager
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

from trainer.errors import ChangeoverError
from trainer.log import connect, faults
from trainer.practice.record import Attempt, Run, Series, Texture, Timing
from trainer.practice.statistics import WINDOW

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_Kind = TypeVar("_Kind", bound=StrEnum)
_Row: TypeAlias = tuple[Any, ...]
_Shape: TypeAlias = tuple[tuple[type, ...], ...]

# What each column holds in a sound log; a byte that was changed on the disk can turn one kind into another.
_TEXT, _REAL, _COUNT = (str,), (float,), (int,)
_MAYBE_TEXT, _MAYBE_REAL, _MAYBE_COUNT = (str, type(None)), (float, type(None)), (int, type(None))
_INFINITE = frozenset({math.inf, -math.inf})

_SERIES_OF_CHANGE = "SELECT change, timing, source, tempo, texture FROM series WHERE change = ?"
_SERIES: _Shape = (_TEXT, _TEXT, _TEXT, _MAYBE_REAL, _TEXT)

_SUMMARIES = """
    SELECT change, timing, source, tempo, texture, attempts, best_ms, median_ms, clean, answered, last_at
    FROM series
    WHERE attempts > 0 AND (:drill IS NULL OR n IN (
        SELECT a.series FROM runs AS r JOIN attempts AS a ON a.run = r.n WHERE r.drill = :drill
    ))
    ORDER BY median_ms DESC NULLS LAST, n"""
_SUMMARY: _Shape = (_COUNT, _MAYBE_REAL, _MAYBE_REAL, _COUNT, _COUNT, _REAL)

_OF_SERIES = """
    SELECT id, run, at, change_ms, clean FROM played
    WHERE in_series = (
        SELECT n FROM series
        WHERE change = ? AND timing = ? AND source = ? AND texture = ? AND ifnull(tempo, 0.0) = ifnull(?, 0.0)
    )
    ORDER BY at DESC, n DESC LIMIT ?"""
_OF_RUN = """
    SELECT change, timing, source, tempo, texture, id, run, at, change_ms, clean FROM played
    WHERE in_run = (SELECT n FROM runs WHERE id = ?)
    ORDER BY n"""
_ATTEMPT: _Shape = (_TEXT, _TEXT, _REAL, _MAYBE_REAL, _MAYBE_COUNT)

_RUNS = """
    SELECT id, drill, at, timing, tempo, asked, landed, remark FROM runs
    ORDER BY at DESC, n DESC LIMIT ?"""
_RUN: _Shape = (_TEXT, _TEXT, _REAL, _TEXT, _MAYBE_REAL, _MAYBE_COUNT, _MAYBE_COUNT, _MAYBE_TEXT)

_DRILLS = "SELECT DISTINCT drill FROM runs ORDER BY drill"


@dataclass(frozen=True, slots=True)
class Summary:
    """How one series stands, as kept beside it in the log. Times are milliseconds, None where none was taken."""

    series: Series
    """The change and how it was timed."""
    count: int
    """All its attempts."""
    best_ms: float | None
    """The shortest of all its times."""
    median_ms: float | None
    """The median over its newest `statistics.WINDOW` attempts."""
    clean: int
    """Attempts said to be clean."""
    answered: int
    """Attempts of which it was said at all."""
    last_at: float
    """When the last one landed: seconds since 1970-01-01 UTC."""


@contextmanager
def reading(path: Path) -> Iterator[History]:
    """Open the log at `path` for a few questions, all answered from the same moment; no log reads as an empty one.

    Raises ChangeoverError where the log cannot be read: damaged, locked, of a newer format, or something else.
    """
    try:
        connection = connect.for_reading(path)
    except (*faults.UNREADABLE, OSError) as error:
        raise ChangeoverError(faults.fault(error, path)) from error
    with closing(connection):
        try:
            connection.execute("BEGIN")
            yield History(connection)
        except faults.UNREADABLE as error:
            raise ChangeoverError(faults.fault(error, path)) from error


class History:
    """The answers: summaries slowest first, attempts oldest first, runs newest first."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        """Ask on `connection`; use `reading`."""
        self._connection = connection

    def summaries(self, *, drill: str | None = None) -> list[Summary]:
        """Return every series, the slowest median first and those without a time last.

        With `drill`, only changes that were practised in a drill of that title; their attempts in other drills count.
        """
        # A series stays behind, empty, when its last attempt is taken back.
        rows = self._connection.execute(_SUMMARIES, {"drill": drill})
        return [Summary(_series(row[:5]), *_sound(row[5:], _SUMMARY)) for row in rows]

    def attempts(self, series: Series, *, newest: int = WINDOW) -> list[Attempt]:
        """Return the newest attempts of one series."""
        values = (series.change, series.timing, series.source, series.texture, series.tempo, newest)
        return [_attempt(series, row) for row in self._connection.execute(_OF_SERIES, values)][::-1]

    def of_change(self, change: str, *, newest: int = WINDOW) -> list[Attempt]:
        """Return the newest attempts at one change, however timed; each says how, so that none need be pooled."""
        rows = self._connection.execute(_SERIES_OF_CHANGE, (change,)).fetchall()
        every = [attempt for row in rows for attempt in self.attempts(_series(row), newest=newest)]
        every.sort(key=lambda attempt: attempt.at)
        return every[max(0, len(every) - newest) :]

    def of_run(self, run: str) -> list[Attempt]:
        """Return the attempts of the run with id `run`, in the order they were written down."""
        return [_attempt(_series(row[:5]), row[5:]) for row in self._connection.execute(_OF_RUN, (run,))]

    def runs(self, *, newest: int = 20) -> list[Run]:
        """Return the last runs, drill title and time among what they tell."""
        return [_run(row) for row in self._connection.execute(_RUNS, (newest,))]

    def drills(self) -> list[str]:
        """Return the titles of all drills that were practised, in order of the alphabet."""
        return [_sound(row, (_TEXT,))[0] for row in self._connection.execute(_DRILLS)]


def _sound(row: _Row, shape: _Shape) -> _Row:
    """Return `row` where it holds what its columns should, else raise sqlite3.DatabaseError."""
    if not all(map(isinstance, row, shape)) or not _INFINITE.isdisjoint(row):
        raise sqlite3.DatabaseError("a row that no program of ours has written")
    return row


def _series(row: _Row) -> Series:
    change, timing, source, tempo, texture = _sound(row, _SERIES)
    return Series(change, _one_of(Timing, timing), source, tempo, _one_of(Texture, texture))


def _attempt(series: Series, row: _Row) -> Attempt:
    name, run, at, change_ms, clean = _sound(row, _ATTEMPT)
    return Attempt(
        id=name,
        run=run,
        change=series.change,
        at=at,
        timing=series.timing,
        source=series.source,
        change_ms=change_ms,
        clean=None if clean is None else bool(clean),
        tempo=series.tempo,
        texture=series.texture,
    )


def _run(row: _Row) -> Run:
    name, drill, at, timing, *rest = _sound(row, _RUN)
    return Run(name, drill, at, _one_of(Timing, timing), *rest)


def _one_of(kind: type[_Kind], word: str) -> _Kind:
    try:
        return kind(word)
    except ValueError as error:
        raise sqlite3.DatabaseError(str(error)) from error
