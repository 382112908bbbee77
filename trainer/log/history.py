"""Questions to the log, answered on a read-only connection that lives as long as the question."""

from __future__ import annotations

from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from trainer.errors import ChangeoverError
from trainer.log import connect, faults
from trainer.log.rows import COUNT, MAYBE_COUNT, MAYBE_REAL, MAYBE_TEXT, REAL, TEXT, Row, Shape, one_of, sound
from trainer.practice.record import Attempt, How, Run, Series, Texture, Timing
from trainer.practice.statistics import WINDOW

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from trainer.log.seats import Played
    from trainer.log.spans import DrillPlayed, Span
    from trainer.practice.measures import Measures
    from trainer.practice.progress import RunTimes

_SERIES_OF_CHANGE = "SELECT change, timing, source, tempo, texture, how FROM series WHERE change = ?"
_SERIES: Shape = (TEXT, TEXT, TEXT, MAYBE_REAL, TEXT, TEXT)

_SUMMARIES = """
    SELECT change, timing, source, tempo, texture, how, attempts, best_ms, median_ms, clean, answered, last_at,
        measured, gap_ms, spread_ms, late_ms, kept, kept_answered
    FROM series
    WHERE attempts > 0 AND {which}"""
_OF_DRILL = "n IN (SELECT a.series FROM runs AS r JOIN attempts AS a ON a.run = r.n WHERE r.drill = ?)"
_SLOWEST = "ORDER BY median_ms DESC NULLS LAST, n LIMIT ?"
_ALL = -1
"""SQLite takes a limit below nought for none."""
_COUNT = "SELECT count(*) FROM series WHERE attempts > 0 AND {which}"
_TIMED = """
    SELECT n, change, median_ms, last_at FROM series WHERE attempts > 0 AND median_ms IS NOT NULL
    ORDER BY median_ms DESC, n"""
_SERIES_NUMBERED = "SELECT change, timing, source, tempo, texture, how FROM series WHERE n = ?"
_PLAYED_LAST = "median_ms IS NOT NULL ORDER BY last_at DESC, median_ms DESC, n LIMIT ?"
_PLAYED = "SELECT 1 FROM series WHERE change = ? AND attempts > 0"
_SUMMARY: Shape = (
    *(COUNT, MAYBE_REAL, MAYBE_REAL, COUNT, COUNT, REAL),
    *(COUNT, MAYBE_REAL, MAYBE_REAL, MAYBE_REAL, COUNT, COUNT),
)

_NUMBER = """
    SELECT n, measured FROM series
    WHERE change = ? AND timing = ? AND source = ? AND texture = ? AND ifnull(tempo, 0.0) = ifnull(?, 0.0)
        AND how = ?"""
_OF_SERIES = """
    SELECT n, id, run, at, change_ms, clean FROM played
    WHERE in_series = ?
    ORDER BY at DESC, n DESC LIMIT ?"""
_NEWEST_TIMES = "SELECT change_ms FROM attempts WHERE series = ? ORDER BY at DESC, n DESC LIMIT ?"
_FIRST_TIMES = """
    SELECT change_ms FROM attempts WHERE series = ? AND change_ms IS NOT NULL ORDER BY at, n LIMIT ?"""
_LAST_TIMES = """
    SELECT change_ms FROM attempts WHERE series = ? AND change_ms IS NOT NULL ORDER BY at DESC, n DESC LIMIT ?"""
_OF_RUN = """
    SELECT change, timing, source, tempo, texture, how, n, id, run, at, change_ms, clean FROM played
    WHERE in_run = (SELECT n FROM runs WHERE id = ?)
    ORDER BY n"""
_ATTEMPT: Shape = (COUNT, TEXT, TEXT, REAL, MAYBE_REAL, MAYBE_COUNT)

_RUNS = """
    SELECT id, drill, at, timing, tempo, asked, landed, remark, how FROM runs
    ORDER BY at DESC, n DESC LIMIT ?"""
_RUN: Shape = (TEXT, TEXT, REAL, TEXT, MAYBE_REAL, MAYBE_COUNT, MAYBE_COUNT, MAYBE_TEXT, TEXT)

_TITLE = "SELECT drill FROM runs WHERE id = ?"
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
    measured: int
    """Attempts that were heard, with measures."""
    gap_ms: float | None
    """The median gap over the newest `statistics.WINDOW` attempts; None where none has one."""
    spread_ms: float | None
    """The same of the spread."""
    late_ms: float | None
    """The same of what came after its written place: the lateness, or the delay of a figure."""
    kept: int
    """Fingers that stayed down where they should, over all attempts."""
    kept_answered: int
    """Fingers of which it could be heard at all."""


class TimedLast(NamedTuple):
    """How a change stands in the way in which it was timed last."""

    number: int
    """Of the series, in this log."""
    median_ms: float
    """As in `Summary`."""
    last_at: float
    """Likewise."""


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

    def summaries(self, *, drill: str | None = None, slowest: int | None = None) -> list[Summary]:
        """Return every series, the slowest median first and those without a time last, or so many of the `slowest`.

        With `drill`, only changes that were practised in a drill of that title; their attempts in other drills count.
        """
        which, values = _which(drill)
        return self._summaries(f"{which} {_SLOWEST}", *values, _ALL if slowest is None else slowest)

    def count(self, *, drill: str | None = None) -> int:
        """Return how many summaries there are."""
        which, values = _which(drill)
        (number,) = sound(self._connection.execute(_COUNT.format(which=which), values).fetchone(), (COUNT,))
        return int(number)

    def timed_last(self) -> list[TimedLast]:
        """Return for each change that has a time how it stands in the way in which it was timed last."""
        newest: dict[str, TimedLast] = {}
        for row in self._connection.execute(_TIMED):
            number, change, median_ms, last_at = sound(row, (COUNT, TEXT, REAL, REAL))
            known = newest.get(change)
            if known is None or known.last_at < last_at:
                newest[change] = TimedLast(number, median_ms, last_at)
        return list(newest.values())

    def series(self, number: int) -> Series:
        """Return the series with a number that this log has told."""
        return _series(self._connection.execute(_SERIES_NUMBERED, (number,)).fetchone())

    def played_last(self, most: int) -> list[Summary]:
        """Return the series with a time that were played last, the newest first; so many at most."""
        return self._summaries(_PLAYED_LAST, most)

    def played(self, change: str) -> bool:
        """Return whether any attempt at a change is in the log, however it was timed."""
        return self._connection.execute(_PLAYED, (change,)).fetchone() is not None

    def attempts(self, series: Series, *, newest: int = WINDOW) -> list[Attempt]:
        """Return the newest attempts of one series."""
        found = self._number(series)
        if found is None:
            return []
        number, measured = found
        rows = self._connection.execute(_OF_SERIES, (number, newest)).fetchall()[::-1]
        heard_too = self._measures(rows) if measured else {}
        return [_attempt(series, row, heard_too) for row in rows]

    def times(self, series: Series, *, newest: int = WINDOW) -> list[float]:
        """Return the times among the newest attempts of one series in milliseconds, oldest first, and nothing else."""
        found = self._number(series)
        if found is None:
            return []
        number, _ = found
        rows = [sound(row, (MAYBE_REAL,)) for row in self._connection.execute(_NEWEST_TIMES, (number, newest))]
        return [change_ms for (change_ms,) in reversed(rows) if change_ms is not None]

    def ends(self, series: Series, first: int, last: int) -> tuple[list[float], list[float]]:
        """Return the first so many times of one series and the last so many, in milliseconds, both oldest first.

        They overlap where the series is short. However long it is, no more of it is read than that.
        """
        found = self._number(series)
        if found is None:
            return [], []
        number, _ = found
        early, late = (
            [sound(row, (REAL,))[0] for row in self._connection.execute(query, (number, most))]
            for query, most in ((_FIRST_TIMES, first), (_LAST_TIMES, last))
        )
        return early, late[::-1]

    def of_change(self, change: str, *, newest: int = WINDOW) -> list[Attempt]:
        """Return the newest attempts at one change, however timed; each says how, so that none need be pooled."""
        rows = self._connection.execute(_SERIES_OF_CHANGE, (change,)).fetchall()
        every = [attempt for row in rows for attempt in self.attempts(_series(row), newest=newest)]
        every.sort(key=lambda attempt: attempt.at)
        return every[max(0, len(every) - newest) :]

    def of_run(self, run: str) -> list[Attempt]:
        """Return the attempts of the run with id `run`, in the order they were written down."""
        rows = self._connection.execute(_OF_RUN, (run,)).fetchall()
        heard_too = self._measures(row[6:] for row in rows)
        return [_attempt(_series(row[:6]), row[6:], heard_too) for row in rows]

    def runs(self, *, newest: int | None = 20) -> list[Run]:
        """Return the last runs, or with None all, drill title and time among what they tell."""
        return [_run(row) for row in self._connection.execute(_RUNS, (_ALL if newest is None else newest,))]

    def title_of(self, run: str) -> str:
        """Return the title of the drill of the run with id `run`; empty where there is no such run."""
        found = self._connection.execute(_TITLE, (run,)).fetchone()
        return "" if found is None else str(sound(found, (TEXT,))[0])

    def drills(self) -> list[str]:
        """Return the titles of all drills that were practised, in order of the alphabet."""
        return [sound(row, (TEXT,))[0] for row in self._connection.execute(_DRILLS)]

    def rounds(self) -> list[Played]:
        """Return the rounds of a class that stand in the log, oldest first."""
        from trainer.log import seats  # most questions do without

        return seats.rounds(self._connection)

    def weeks(self, since: float) -> list[Span]:
        """Return the weeks from the moment `since` on in which something was played, oldest first."""
        from trainer.log import spans  # most questions do without

        return spans.weeks(self._connection, since)

    def drills_played(self) -> list[DrillPlayed]:
        """Return every drill in which something landed, the one played last first."""
        from trainer.log import spans  # most questions do without

        return spans.drills(self._connection)

    def days_of_drill(self, title: str, *, newest: int) -> list[Span]:
        """Return the days on which the `newest` last runs of a drill were played, oldest first."""
        from trainer.log import spans  # most questions do without

        return spans.days_of_drill(self._connection, title, newest)

    def runs_of_series(self, series: Series) -> list[RunTimes]:
        """Return how one series went in each run, oldest first."""
        from trainer.log import spans  # most questions do without

        found = self._number(series)
        return [] if found is None else spans.runs_of_series(self._connection, found[0])

    def _summaries(self, which: str, *values: object) -> list[Summary]:
        # A series stays behind, empty, when its last attempt is taken back.
        rows = self._connection.execute(_SUMMARIES.format(which=which), values)
        return [Summary(_series(row[:6]), *sound(row[6:], _SUMMARY)) for row in rows]

    def _number(self, series: Series) -> tuple[int, int] | None:
        """Return the number of a series in this log and how many of its attempts were measured; None: it is not in."""
        values = (series.change, series.timing, series.source, series.texture, series.tempo, series.how)
        found = self._connection.execute(_NUMBER, values).fetchone()
        if found is None:
            return None
        number, measured = sound(found, (COUNT, COUNT))
        return number, measured

    def _measures(self, rows: Iterable[Row]) -> dict[int, Measures]:
        from trainer.log import heard  # most logs have none

        return heard.read(self._connection, [sound(row, _ATTEMPT)[0] for row in rows])


def _which(drill: str | None) -> tuple[str, tuple[str, ...]]:
    """Return SQL for which series are asked for, and its values."""
    return ("true", ()) if drill is None else (_OF_DRILL, (drill,))


def _series(row: Row) -> Series:
    change, timing, source, tempo, texture, how = sound(row, _SERIES)
    return Series(change, one_of(Timing, timing), source, tempo, one_of(Texture, texture), one_of(How, how))


def _attempt(series: Series, row: Row, measures: Mapping[int, Measures]) -> Attempt:
    number, name, run, at, change_ms, clean = sound(row, _ATTEMPT)
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
        how=series.how,
        measures=measures.get(number),
    )


def _run(row: Row) -> Run:
    name, drill, at, timing, tempo, asked, landed, remark, how = sound(row, _RUN)
    return Run(name, drill, at, one_of(Timing, timing), tempo, asked, landed, remark, one_of(How, how))
