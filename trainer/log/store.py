"""How each entry is written. Every function runs inside a transaction of its caller and may safely be run again.

The summary beside each series (how many, best, median, clean, last) moves in the same transaction as the attempts it
sums up, so that progress opens without reading them. It is exact: best and counts over all attempts of the series,
the median over the newest `statistics.WINDOW` of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.log.faults import RefusedError
from trainer.practice.statistics import WINDOW, quantile

if TYPE_CHECKING:
    import sqlite3

    from trainer.practice.record import Attempt, Run, Series


def begin(connection: sqlite3.Connection, run: Run) -> None:
    """Write down that a run has begun."""
    connection.execute(
        "INSERT INTO runs (id, drill, at, timing, tempo, asked, landed, remark)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (run.id, run.drill, run.at, run.timing, run.tempo, run.asked, run.landed, run.remark),
    )


def finish(connection: sqlite3.Connection, run: str, asked: int | None, landed: int | None, remark: str | None) -> None:
    """Write down how a run ended. Raises RefusedError where no such run was begun."""
    done = connection.execute(
        "UPDATE runs SET asked = ?, landed = ?, remark = ? WHERE id = ?", (asked, landed, remark, run)
    )
    if not done.rowcount:
        raise RefusedError(f"no run {run} in the log")


def add(connection: sqlite3.Connection, attempt: Attempt) -> None:
    """Write down a landed change; one that is there already stays as it is.

    Raises RefusedError where its run is not in the log.
    """
    run = connection.execute("SELECT n FROM runs WHERE id = ?", (attempt.run,)).fetchone()
    if run is None:
        raise RefusedError(f"no run {attempt.run} in the log")
    series = _series(connection, attempt.series)
    added = connection.execute(
        "INSERT INTO attempts (id, run, series, at, change_ms, clean)"
        " VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (attempt.id, *run, series, attempt.at, attempt.change_ms, attempt.clean),
    )
    if added.rowcount:
        connection.execute(
            "UPDATE series SET attempts = attempts + 1,"
            " best_ms = min(ifnull(best_ms, :ms), ifnull(:ms, best_ms)),"
            " clean = clean + ifnull(:clean, 0), answered = answered + (:clean IS NOT NULL),"
            " last_at = max(ifnull(last_at, :at), :at), median_ms = :median WHERE n = :series",
            {
                "ms": attempt.change_ms,
                "clean": attempt.clean,
                "at": attempt.at,
                "median": _median(connection, series),
                "series": series,
            },
        )


def mark(connection: sqlite3.Connection, attempt: str, clean: bool | None) -> None:
    """Write down what was said of a change. Raises RefusedError where it is not in the log."""
    series, before = _find(connection, attempt)
    connection.execute("UPDATE attempts SET clean = ? WHERE id = ?", (clean, attempt))
    connection.execute(
        "UPDATE series SET clean = clean + ?, answered = answered + ? WHERE n = ?",
        ((clean or 0) - (before or 0), (clean is not None) - (before is not None), series),
    )


def take_back(connection: sqlite3.Connection, attempt: str) -> None:
    """Remove a change that was not one, and sum up its series anew. Raises RefusedError where it is not in the log."""
    series, _ = _find(connection, attempt)
    connection.execute("DELETE FROM attempts WHERE id = ?", (attempt,))
    connection.execute(
        "UPDATE series SET median_ms = ?, (attempts, best_ms, clean, answered, last_at) = ("
        " SELECT count(*), min(change_ms), ifnull(sum(clean), 0), count(clean), max(at)"
        " FROM attempts WHERE attempts.series = series.n) WHERE n = ?",
        (_median(connection, series), series),
    )


def _series(connection: sqlite3.Connection, series: Series) -> int:
    """Return the number of `series`, which is entered where it is new."""
    values = (series.change, series.timing, series.source, series.texture, series.tempo)
    which = "change = ? AND timing = ? AND source = ? AND texture = ? AND ifnull(tempo, 0.0) = ifnull(?, 0.0)"
    found = connection.execute(f"SELECT n FROM series WHERE {which}", values).fetchone()  # noqa: S608  # constant text
    if found is None:
        found = connection.execute(
            "INSERT INTO series (change, timing, source, texture, tempo) VALUES (?, ?, ?, ?, ?) RETURNING n", values
        ).fetchone()
    return int(found[0])


def _find(connection: sqlite3.Connection, attempt: str) -> tuple[int, int | None]:
    """Return the series of an attempt and what was said of it."""
    found: tuple[int, int | None] | None = connection.execute(
        "SELECT series, clean FROM attempts WHERE id = ?", (attempt,)
    ).fetchone()
    if found is None:
        raise RefusedError(f"no change {attempt} in the log")
    return found


def _median(connection: sqlite3.Connection, series: int) -> float | None:
    """Return the median of the times among the newest `WINDOW` attempts of `series`."""
    newest = connection.execute(
        "SELECT change_ms FROM attempts WHERE series = ? ORDER BY at DESC, n DESC LIMIT ?", (series, WINDOW)
    )
    times = sorted(ms for (ms,) in newest if ms is not None)
    return quantile(times, 0.5) if times else None
