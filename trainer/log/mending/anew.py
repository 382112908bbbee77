"""A new log made of what was salvaged; what the schema of today turns down is left out and counted."""

# ruff: noqa: S608  # every statement is made of names of our own schema; values are bound

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.log import quarters, store
from trainer.log.migrations import migrate, transaction

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trainer.log.mending.salvage import Row, Salvage

_COLUMNS = {
    "guitars": "n, device, calibration",
    "series": "n, change, timing, source, tempo, texture, how",
    "runs": "n, id, drill, at, timing, tempo, asked, landed, remark, how",
    "attempts": "n, id, run, series, at, change_ms, clean",
    "measures": "attempt, guitar, expected, strike_ms, delay_ms, lateness_ms, gap_ms, gap_melody_ms, gap_bass_ms,"
    " spread_ms, direction, balance",
    "fingers": "attempt, asked, finger, answer",
    "notes": "attempt, what, place, string, midi",
}
"""The columns of each table as `Salvage` tells them; a table stands after those that its rows point to."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What stands in the log made anew, and what does not."""

    content: bytes
    """The log, as one file."""
    changes: int
    """Attempts in it."""
    runs: int
    """Runs in it."""
    unread: int
    """Attempts that are known to have been there and are not saved."""
    all_counted: bool
    """False where there may have been more of them: it is not known how many attempts a series had."""
    unmarked: int
    """Attempts of which is lost whether they were clean."""
    untitled: int
    """Runs of which is lost what the drill was called."""
    measures_unread: int
    """Attempts in it that were heard and have lost their measures."""
    heard: int
    """Attempts in it that have measures; of one of them a finger or an odd note may be lost, which nothing counts."""
    first: float | None
    """When the first attempt in it landed, in seconds since 1970-01-01 UTC; None where there is none."""
    last: float | None
    """When the last one did."""
    deleted_told: bool
    """False where what had been taken back may be among what was saved."""


def anew(found: Salvage) -> Saved:
    """Return a new log of what was found."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as log:
        migrate(log)
        log.execute("PRAGMA foreign_keys = ON")
        with transaction(log):
            for table in ("guitars", "series", "runs", "attempts", "measures"):
                _insert(log, table, ((n, *row) for n, row in sorted(getattr(found, table).items())))
            for table in ("fingers", "notes"):
                _insert(log, table, getattr(found, table).values())
            for (series,) in log.execute("SELECT n FROM series").fetchall():
                store.sum_up(log, series)
            for (run,) in log.execute("SELECT n FROM runs").fetchall():
                quarters.sum_up(log, run)
        changes, first, last = log.execute("SELECT count(*), min(at), max(at) FROM attempts").fetchone()
        saved = {n for (n,) in log.execute("SELECT n FROM attempts")}
        runs = {n for (n,) in log.execute("SELECT n FROM runs")}
        known = {n for (n,) in log.execute("SELECT attempt FROM measures")}
        return Saved(
            content=log.serialize(),
            changes=changes,
            runs=len(runs),
            unread=_unread(log, found, changes),
            all_counted=found.summed_up.keys() == found.series.keys(),
            unmarked=len(found.unmarked & saved),
            untitled=len(found.untitled & runs),
            measures_unread=len(found.heard & saved - known),
            heard=len(known),
            first=first,
            last=last,
            deleted_told=found.complete,
        )


def _insert(log: sqlite3.Connection, table: str, rows: Iterable[Row]) -> None:
    """Write the rows of a table, those that the schema refuses left out."""
    columns = _COLUMNS[table]
    statement = f"INSERT INTO {table} ({columns}) VALUES ({', '.join('?' * len(columns.split(',')))})"
    for row in rows:
        try:
            log.execute(statement, row)
        except (sqlite3.IntegrityError, OverflowError):
            continue


def _unread(log: sqlite3.Connection, found: Salvage, changes: int) -> int:
    """Return how many attempts are missing: those that each series once counted, or of which something was seen."""
    there: dict[object, int] = dict(log.execute("SELECT n, attempts FROM series"))
    missed = sum(max(before - there.get(series, 0), 0) for series, before in found.summed_up.items())
    return max(missed, found.attempts_seen - changes)
