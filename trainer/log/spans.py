"""What was played in each week, or of one drill on each day, summed up by the database where the player is.

Weeks are those of ISO 8601: they begin on Monday. What is read is bounded by the stretch that is asked for, however
long the log.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from trainer.log.rows import COUNT, REAL, TEXT, Row, Shape, sound
from trainer.practice.progress import PACE_FROM, RunTimes

if TYPE_CHECKING:
    import sqlite3

PAUSE_S = 60.0
"""A pause between two landings counts as playing up to this long."""
_LONGEST_RUN_S = 7 * 86_400.0
"""No run is looked for that began longer than this before a stretch: nobody leaves one open for a week."""

# How far local time was ahead of UTC, in seconds, when the run began; it is not asked for each attempt anew.
_RUNS = """
    SELECT n, at, CAST(strftime('%s', at, 'unixepoch', 'localtime') AS INTEGER) - CAST(at AS INTEGER) AS ahead
    FROM runs WHERE ahead IS NOT NULL AND """
_OF_WEEKS = "at >= :since - :reach"
_OF_DRILL = "drill = :drill ORDER BY at DESC, n DESC LIMIT :newest"
# Days are counted from 1970-01-01, a Thursday, so that day -3 was a Monday.
_MONDAY, _DAY = "(day + 3) / 7 * 7 - 3", "day"
_PLAYED = """
    WITH chosen AS ({runs}),
    landed AS (
        SELECT a.n, a.run, a.series, a.at, a.change_ms, a.clean, chosen.at AS began,
            CAST(a.at + ahead AS INTEGER) / 86400 AS day
        FROM chosen JOIN attempts AS a ON a.run = chosen.n WHERE a.at >= :since
    ),
    played AS (SELECT *, {part} AS part FROM landed)"""
_TOTALS = """
    SELECT part, count(DISTINCT day), count(DISTINCT run), count(*), ifnull(sum(clean), 0), count(clean)
    FROM played GROUP BY part ORDER BY part"""
_TOTAL: Shape = (COUNT, COUNT, COUNT, COUNT, COUNT, COUNT)
_CHANGES = """
    SELECT part, count(DISTINCT s.change)
    FROM (SELECT DISTINCT part, series FROM played) JOIN series AS s ON s.n = series GROUP BY part"""
_PLAYING = """
    SELECT part, total(min(max(pause, 0.0), :pause)) FROM (
        SELECT part, at - ifnull(lag(at) OVER (PARTITION BY run ORDER BY n), began) AS pause FROM played
    ) GROUP BY part"""
# The median: the mean of the middle one or two.
_MEDIANS = """
    SELECT part, series, avg(change_ms) FROM (
        SELECT part, series, change_ms, row_number() OVER (PARTITION BY part, series ORDER BY change_ms) AS place,
            count(*) OVER (PARTITION BY part, series) AS timed
        FROM played WHERE change_ms IS NOT NULL
    ) WHERE timed >= :fewest AND place IN ((timed + 1) / 2, (timed + 2) / 2) GROUP BY part, series"""
_MEDIAN: Shape = (COUNT, COUNT, REAL)
_EPOCH = date(1970, 1, 1).toordinal()

_DRILLS = """
    SELECT drill, count(*), sum(tries), min(at), max(at) FROM (
        SELECT r.drill, r.at, (SELECT count(*) FROM attempts AS a WHERE a.run = r.n) AS tries FROM runs AS r
    ) WHERE tries > 0 GROUP BY drill ORDER BY max(at) DESC, drill"""
_DRILL: Shape = (TEXT, COUNT, COUNT, REAL, REAL)

_RUNS_OF_SERIES = """
    SELECT r.at, timed, avg(change_ms) FROM (
        SELECT run, change_ms, row_number() OVER (PARTITION BY run ORDER BY change_ms) AS place,
            count(*) OVER (PARTITION BY run) AS timed
        FROM attempts WHERE series = ? AND change_ms IS NOT NULL
    ) JOIN runs AS r ON r.n = run
    WHERE place IN ((timed + 1) / 2, (timed + 2) / 2) GROUP BY run ORDER BY r.at, run"""
_RUN_TIMES: Shape = (REAL, COUNT, REAL)


@dataclass(frozen=True, slots=True)
class Span:
    """What was played in one week or on one day."""

    begins: date
    """The day, or the Monday of the week."""
    days: int
    """On how many days something was played."""
    runs: int
    """In how many runs."""
    tries: int
    """Changes that landed."""
    changes: int
    """How many different ones."""
    clean: int
    """How many were said to be clean …"""
    answered: int
    """… of those of which it was said at all."""
    played_s: float
    """Seconds of playing: from each landing to the next, or from the run's begin, longer pauses than `PAUSE_S` cut."""
    medians: Mapping[int, float]
    """Median time in milliseconds of each series with `PACE_FROM` times at least, by its number."""


@dataclass(frozen=True, slots=True)
class DrillPlayed:
    """How much one drill was played."""

    title: str
    """Its title as it was then."""
    runs: int
    """Runs in which something landed."""
    tries: int
    """Changes that landed."""
    first_at: float
    """When the first run began: seconds since 1970-01-01 UTC."""
    last_at: float
    """When the last one began."""


def weeks(connection: sqlite3.Connection, since: float) -> list[Span]:
    """Return the weeks from the moment `since` on in which something was played, oldest first."""
    return _spans(connection, _OF_WEEKS, _MONDAY, {"since": since, "reach": _LONGEST_RUN_S})


def days_of_drill(connection: sqlite3.Connection, title: str, newest: int) -> list[Span]:
    """Return the days on which the newest runs of the drill of this title were played, oldest first."""
    return _spans(connection, _OF_DRILL, _DAY, {"since": -1e18, "drill": title, "newest": newest})


def drills(connection: sqlite3.Connection) -> list[DrillPlayed]:
    """Return every drill in which something landed, the one played last first."""
    return [DrillPlayed(*sound(row, _DRILL)) for row in connection.execute(_DRILLS)]


def runs_of_series(connection: sqlite3.Connection, series: int) -> list[RunTimes]:
    """Return how the series with this number went in each run, oldest first."""
    return [RunTimes(*sound(row, _RUN_TIMES)) for row in connection.execute(_RUNS_OF_SERIES, (series,))]


def _spans(connection: sqlite3.Connection, runs: str, part: str, values: Mapping[str, object]) -> list[Span]:
    asked = {**values, "pause": PAUSE_S, "fewest": PACE_FROM}
    played = _PLAYED.format(runs=_RUNS + runs, part=part)

    def answers(question: str, shape: Shape) -> Iterator[Row]:
        return (sound(row, shape) for row in connection.execute(played + question, asked))

    changes: dict[int, int] = dict(answers(_CHANGES, (COUNT, COUNT)))
    playing: dict[int, float] = dict(answers(_PLAYING, (COUNT, REAL)))
    medians: dict[int, dict[int, float]] = {}
    for which, series, median_ms in answers(_MEDIANS, _MEDIAN):
        medians.setdefault(which, {})[series] = median_ms
    return [
        Span(
            *(_date(which), days, in_runs, tries, changes[which], clean, answered, playing[which]),
            medians.get(which, {}),
        )
        for which, days, in_runs, tries, clean, answered in answers(_TOTALS, _TOTAL)
    ]


def _date(day: int) -> date:
    """Return the day with this number; one that no calendar knows is the first or last that one does."""
    return date.fromordinal(min(max(_EPOCH + day, 1), date.max.toordinal()))
