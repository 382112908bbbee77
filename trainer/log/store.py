"""How each entry is written. Every function runs inside a transaction of its caller and may safely be run again.

The summary beside each series (how many, best, median, clean, last) moves in the same transaction as the attempts it
sums up, so that progress opens without reading them. It is exact: best and counts over all attempts of the series,
medians over the newest `statistics.WINDOW` of them. So does what stands beside each run (`log.quarters`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trainer.log import heard, quarters
from trainer.log.faults import RefusedError
from trainer.practice.statistics import WINDOW, quantile

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable

    from trainer.practice.measures import Measures
    from trainer.practice.record import Attempt, Run, Series

_OF_NEWEST = ("median_ms", "gap_ms", "spread_ms", "late_ms")
"""The medians of a summary."""
_MEDIANS = ", ".join(f"{name} = :{name}" for name in _OF_NEWEST)
_ADDED = f"""
    UPDATE series SET attempts = attempts + 1, best_ms = min(ifnull(best_ms, :ms), ifnull(:ms, best_ms)),
        clean = clean + ifnull(:clean, 0), answered = answered + (:clean IS NOT NULL),
        last_at = max(ifnull(last_at, :at), :at), {_MEDIANS}
    WHERE n = :series"""  # noqa: S608  # constant text
_COUNTED = """
    UPDATE series SET (attempts, best_ms, clean, answered, last_at) = (
        SELECT count(*), min(change_ms), ifnull(sum(clean), 0), count(clean), max(at)
        FROM attempts WHERE attempts.series = series.n
    ) WHERE n = ?"""
_COUNTED_HEARD = """
    UPDATE series SET measured = (
        SELECT count(*) FROM attempts AS a JOIN measures AS m ON m.attempt = a.n WHERE a.series = series.n
    ), (kept, kept_answered) = (
        SELECT count(*) FILTER (WHERE f.answer = 'yes'), count(*) FILTER (WHERE f.answer <> 'not heard')
        FROM attempts AS a JOIN fingers AS f ON f.attempt = a.n WHERE a.series = series.n AND f.asked = 'kept'
    ) WHERE n = ?"""
_WHICH = """
    SELECT n FROM series WHERE change = ? AND timing = ? AND source = ? AND texture = ?
        AND ifnull(tempo, 0.0) = ifnull(?, 0.0) AND how = ?"""
_NEW = "INSERT INTO series (change, timing, source, texture, tempo, how) VALUES (?, ?, ?, ?, ?, ?) RETURNING n"
_NEWEST = "SELECT change_ms FROM attempts WHERE series = ? ORDER BY at DESC, n DESC LIMIT ?"
_NEWEST_HEARD = """
    SELECT a.change_ms, m.gap_ms, m.spread_ms, ifnull(m.lateness_ms, m.delay_ms)
    FROM attempts AS a LEFT JOIN measures AS m ON m.attempt = a.n
    WHERE a.series = ? ORDER BY a.at DESC, a.n DESC LIMIT ?"""


def begin(connection: sqlite3.Connection, run: Run) -> None:
    """Write down that a run has begun."""
    connection.execute(
        "INSERT INTO runs (id, drill, at, timing, tempo, asked, landed, remark, how)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (run.id, run.drill, run.at, run.timing, run.tempo, run.asked, run.landed, run.remark, run.how),
    )


def finish(connection: sqlite3.Connection, run: str, asked: int | None, landed: int | None, remark: str | None) -> None:
    """Write down how a run ended. Raises RefusedError where no such run was begun."""
    done = connection.execute(
        "UPDATE runs SET asked = ?, landed = ?, remark = ? WHERE id = ?", (asked, landed, remark, run)
    )
    if not done.rowcount:
        raise RefusedError(f"no run {run} in the log")


def add(connection: sqlite3.Connection, attempt: Attempt) -> None:
    """Write down a landed change with its measures; one that is there already stays as it is.

    Raises RefusedError where its run is not in the log.
    """
    run = connection.execute("SELECT n FROM runs WHERE id = ?", (attempt.run,)).fetchone()
    if run is None:
        raise RefusedError(f"no run {attempt.run} in the log")
    series = _series(connection, attempt.series)
    added = connection.execute(
        "INSERT INTO attempts (id, run, series, at, change_ms, clean)"
        " VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING RETURNING n",
        (attempt.id, *run, series, attempt.at, attempt.change_ms, attempt.clean),
    ).fetchone()
    if added is None:
        return
    if attempt.measures is not None:
        _measure(connection, added[0], series, attempt.measures)
    connection.execute(
        _ADDED,
        {
            "ms": attempt.change_ms,
            "clean": attempt.clean,
            "at": attempt.at,
            "series": series,
            **_medians(connection, series),
        },
    )
    quarters.add(connection, added[0], run[0], attempt.at)


def mark(connection: sqlite3.Connection, attempt: str, clean: bool | None) -> None:
    """Write down what was said of a change. Raises RefusedError where it is not in the log."""
    _mark(connection, _find(connection, attempt), clean)


def measure(connection: sqlite3.Connection, attempt: str, measures: Measures, clean: bool | None) -> None:
    """Write down what was heard of a change and what is to be said of it, in place of what was written before.

    Raises RefusedError where it is not in the log.
    """
    found = _find(connection, attempt)
    _mark(connection, found, clean)
    if measures.change_ms != found.change_ms:
        connection.execute("UPDATE attempts SET change_ms = ? WHERE n = ?", (measures.change_ms, found.n))
        connection.execute(
            "UPDATE series SET best_ms = (SELECT min(change_ms) FROM attempts WHERE series = series.n) WHERE n = ?",
            (found.series,),
        )
    _measure(connection, found.n, found.series, measures)
    _sum_up_newest(connection, found.series)


def take_back(connection: sqlite3.Connection, attempt: str) -> None:
    """Remove a change that was not one, and sum up its series anew. Raises RefusedError where it is not in the log."""
    found = _find(connection, attempt)
    _count_kept(connection, found.series, heard.kept(connection, found.n), -1)
    connection.execute("DELETE FROM attempts WHERE n = ?", (found.n,))
    connection.execute(_COUNTED, (found.series,))
    _sum_up_newest(connection, found.series)
    quarters.sum_up(connection, found.run)


def sum_up(connection: sqlite3.Connection, series: int) -> None:
    """Write the summary of the series with this number anew from its attempts."""
    connection.execute(_COUNTED, (series,))
    connection.execute(_COUNTED_HEARD, (series,))
    _sum_up_newest(connection, series)


class _Found(NamedTuple):
    """An attempt that is in the log."""

    n: int
    run: int
    series: int
    change_ms: float | None
    clean: int | None


def _series(connection: sqlite3.Connection, series: Series) -> int:
    """Return the number of `series`, which is entered where it is new."""
    values = (series.change, series.timing, series.source, series.texture, series.tempo, series.how)
    found = connection.execute(_WHICH, values).fetchone()
    if found is None:
        found = connection.execute(_NEW, values).fetchone()
    return int(found[0])


def _find(connection: sqlite3.Connection, attempt: str) -> _Found:
    found = connection.execute(
        "SELECT n, run, series, change_ms, clean FROM attempts WHERE id = ?", (attempt,)
    ).fetchone()
    if found is None:
        raise RefusedError(f"no change {attempt} in the log")
    return _Found(*found)


def _mark(connection: sqlite3.Connection, found: _Found, clean: bool | None) -> None:
    before = found.clean
    more = (clean or 0) - (before or 0), (clean is not None) - (before is not None)
    connection.execute("UPDATE attempts SET clean = ? WHERE n = ?", (clean, found.n))
    connection.execute(
        "UPDATE series SET clean = clean + ?, answered = answered + ? WHERE n = ?", (*more, found.series)
    )
    quarters.mark(connection, found.n, *more)


def _measure(connection: sqlite3.Connection, attempt: int, series: int, measures: Measures) -> None:
    _count_kept(connection, series, heard.kept(connection, attempt), -1)
    heard.write(connection, attempt, measures)
    _count_kept(connection, series, (1, *measures.kept), 1)


def _count_kept(connection: sqlite3.Connection, series: int, counts: tuple[int, int, int], sign: int) -> None:
    """Add to the counts of a series, or take away from them, whether a change is measured and its fingers kept down."""
    if counts[0]:
        connection.execute(
            "UPDATE series SET measured = measured + ?, kept = kept + ?, kept_answered = kept_answered + ? WHERE n = ?",
            (*(sign * count for count in counts), series),
        )


def _sum_up_newest(connection: sqlite3.Connection, series: int) -> None:
    """Take the medians of `series` anew."""
    values = {"series": series, **_medians(connection, series)}
    connection.execute(f"UPDATE series SET {_MEDIANS} WHERE n = :series", values)  # noqa: S608  # constant text


def _medians(connection: sqlite3.Connection, series: int) -> dict[str, float | None]:
    """Return the medians over the newest `WINDOW` attempts of `series`; a series without measures is not joined."""
    (measured,) = connection.execute("SELECT measured FROM series WHERE n = ?", (series,)).fetchone()
    newest = connection.execute(_NEWEST_HEARD if measured else _NEWEST, (series, WINDOW)).fetchall()
    columns = zip(*newest, strict=True)
    return dict.fromkeys(_OF_NEWEST) | {
        name: _median(column) for name, column in zip(_OF_NEWEST, columns, strict=False)
    }


def _median(values: Iterable[float | None]) -> float | None:
    known = sorted(value for value in values if value is not None)
    return quantile(known, 0.5) if known else None
