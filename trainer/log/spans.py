"""What was played in each week, or of one drill on each day, summed up by the database where the player is.

Weeks are those of ISO 8601: they begin on Monday. Counts and minutes are sums of quarters of an hour (`log.quarters`);
of the attempts only the times are read, of the stretch that is asked for, however long the log.
"""

from __future__ import annotations

import json
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from trainer.log.quarters import QUARTER_S
from trainer.log.rows import COUNT, MAYBE_REAL, REAL, TEXT, Row, Shape, sound, sound_columns
from trainer.practice.progress import PACE_FROM, RunTimes
from trainer.practice.statistics import quantile

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence

_LONGEST_RUN_S = 7 * 86_400.0
"""No run is looked for that began longer than this before a stretch: nobody leaves one open for a week."""

_RUNS_SINCE = "SELECT n FROM runs WHERE at >= :since - :reach"
_RUNS_OF_DRILL = "SELECT n FROM runs WHERE drill = :drill ORDER BY at DESC, n DESC LIMIT :newest"
# Days are counted from 1970-01-01, a Thursday, so that day -3 was a Monday.
_MONDAY, _DAY = "(day + 3) / 7 * 7 - 3", "day"
_TOTALS = """
    WITH played AS (
        SELECT *, CAST(strftime('%s', quarter * {quarter_s}, 'unixepoch', 'localtime') AS INTEGER) / 86400 AS day
        FROM quarters WHERE run IN ({runs}) AND quarter >= :since / {quarter_s}
    )
    SELECT {part} AS part, count(DISTINCT day), count(DISTINCT run), sum(tries), sum(clean), sum(answered),
        sum(played_s), min(quarter) * {quarter_s}.0, (max(quarter) + 1) * {quarter_s}.0
    FROM played WHERE day IS NOT NULL GROUP BY part ORDER BY part"""
_TOTAL: Shape = (COUNT, COUNT, COUNT, COUNT, COUNT, COUNT, REAL, REAL, REAL)
# Each series in turn, its attempts in the order of the index: nothing is sorted.
_TIMES_BETWEEN = """
    SELECT s.n, a.at, a.change_ms FROM series AS s CROSS JOIN attempts AS a ON a.series = s.n
    WHERE a.at >= :begins AND a.at < :ends ORDER BY s.n, a.at"""
_TIMES_OF_RUNS = """
    SELECT series, at, change_ms FROM attempts WHERE run IN ({runs}) AND at >= :begins AND at < :ends
    ORDER BY series, at"""
_TIMES: Shape = (COUNT, REAL, MAYBE_REAL)
_CHANGES = "SELECT n, change FROM json_each(?) JOIN series ON n = value"
_EPOCH = date(1970, 1, 1).toordinal()

_DRILLS = """
    SELECT r.drill, count(DISTINCT r.n), sum(q.tries), min(r.at), max(r.at)
    FROM quarters AS q CROSS JOIN runs AS r ON r.n = q.run GROUP BY r.drill ORDER BY max(r.at) DESC, r.drill"""
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
    """Seconds of playing: from each landing to the next, or from the run's begin; see `log.quarters`."""
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
    return _spans(connection, _RUNS_SINCE, _MONDAY, _TIMES_BETWEEN, {"since": since, "reach": _LONGEST_RUN_S})


def days_of_drill(connection: sqlite3.Connection, title: str, newest: int) -> list[Span]:
    """Return the days on which the newest runs of the drill of this title were played, oldest first."""
    asked = {"since": -1e18, "drill": title, "newest": newest}
    return _spans(connection, _RUNS_OF_DRILL, _DAY, _TIMES_OF_RUNS, asked)


def drills(connection: sqlite3.Connection) -> list[DrillPlayed]:
    """Return every drill in which something landed, the one played last first."""
    return [DrillPlayed(*sound(row, _DRILL)) for row in connection.execute(_DRILLS)]


def runs_of_series(connection: sqlite3.Connection, series: int) -> list[RunTimes]:
    """Return how the series with this number went in each run, oldest first."""
    return [RunTimes(*sound(row, _RUN_TIMES)) for row in connection.execute(_RUNS_OF_SERIES, (series,))]


def _spans(connection: sqlite3.Connection, runs: str, part: str, times: str, asked: Mapping[str, object]) -> list[Span]:
    """Return the parts into which the quarters of these runs fall, each with the times taken in it."""
    question = _TOTALS.format(runs=runs, part=part, quarter_s=QUARTER_S)
    totals = [sound(row, _TOTAL) for row in connection.execute(question, asked)]
    if not totals:
        return []
    # They come in order; of a damaged file even that is not certain, and out of order `_by_part` would never end.
    begins, ends = sorted(row[7] for row in totals), max(row[8] for row in totals)
    between = {**asked, "begins": begins[0], "ends": ends}
    found = connection.execute(times.format(runs=runs), between).fetchall()
    medians, series = _by_part(found, begins)
    every = json.dumps(list(set().union(*series)))
    changes: dict[int, str] = dict(sound(row, (COUNT, TEXT)) for row in connection.execute(_CHANGES, (every,)))
    return [
        Span(
            *(_date(day), days, in_runs, tries, len({changes.get(number) for number in series[at]})),
            *(clean, answered, played_s, medians[at]),
        )
        for at, (day, days, in_runs, tries, clean, answered, played_s, _, _) in enumerate(totals)
    ]


def _by_part(rows: Sequence[Row], begins: Sequence[float]) -> tuple[list[dict[int, float]], list[list[int]]]:
    """Return for each part the median of each series with times enough, and all series that were played in it.

    `rows` are series, moment and time of attempts, by series and moment; `begins` are the moments at which the parts
    begin, in order.
    """
    series, at, times = sound_columns(rows, _TIMES)
    medians: list[dict[int, float]] = [{} for _ in begins]
    played: list[list[int]] = [[] for _ in begins]
    first = over = 0
    while first < len(rows):
        number = series[first]
        if first == over:
            over = bisect_right(series, number, first)
        part = bisect_right(begins, at[first]) - 1
        last = bisect_left(at, begins[part + 1], first, over) if part + 1 < len(begins) else over
        timed = sorted(ms for ms in times[first:last] if ms is not None)
        if len(timed) >= PACE_FROM:
            medians[part][number] = quantile(timed, 0.5)
        played[part].append(number)
        first = last
    return medians, played


def _date(day: int) -> date:
    """Return the day with this number; one that no calendar knows is the first or last that one does."""
    return date.fromordinal(min(max(_EPOCH + day, 1), date.max.toordinal()))
