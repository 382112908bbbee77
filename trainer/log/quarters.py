"""What was played in each quarter of an hour of a run, kept beside the run as its attempts are written.

Every time zone is whole quarters of an hour ahead of UTC. So days and weeks, wherever the player is when they are asked
for, are sums of these few rows, and the attempts need not be read.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3

QUARTER_S = 900
"""Seconds of a quarter of an hour; they are counted from 1970-01-01 UTC."""
PAUSE_S = 60.0
"""A pause between two landings counts as playing up to this long. What is stored was summed up by it."""

_QUARTER = f"CAST(at / {QUARTER_S} AS INTEGER)"
_ADDED = f"""
    INSERT INTO quarters (run, quarter, tries, clean, answered, played_s, last_at)
    SELECT run, {_QUARTER}, 1, ifnull(clean, 0), clean IS NOT NULL, min(at - ?, {PAUSE_S}), at
    FROM attempts WHERE n = ?
    ON CONFLICT DO UPDATE SET tries = tries + 1, clean = clean + excluded.clean,
        answered = answered + excluded.answered, played_s = played_s + excluded.played_s, last_at = excluded.last_at"""  # noqa: S608  # constant text
_LATEST = "SELECT ifnull((SELECT max(last_at) FROM quarters WHERE run = r.n), r.at) FROM runs AS r WHERE r.n = ?"
_MARKED = f"""
    UPDATE quarters SET clean = quarters.clean + ?, answered = quarters.answered + ?
    FROM (SELECT run AS in_run, {_QUARTER} AS fell FROM attempts WHERE n = ?)
    WHERE run = in_run AND quarter = fell"""  # noqa: S608  # constant text
_OF_RUN = f"""
    INSERT INTO quarters (run, quarter, tries, clean, answered, played_s, last_at)
    SELECT run, {_QUARTER}, count(*), ifnull(sum(clean), 0), count(clean),
        total(min(max(pause, 0.0), {PAUSE_S})), max(at)
    FROM (
        SELECT a.run, a.at, a.clean, a.at - ifnull(lag(a.at) OVER (ORDER BY a.at), r.at) AS pause
        FROM attempts AS a JOIN runs AS r ON r.n = a.run WHERE a.run = ?
    ) GROUP BY 1, 2"""  # noqa: S608  # constant text


def add(connection: sqlite3.Connection, attempt: int, run: int, at: float) -> None:
    """Count the attempt with this number in, which landed at the moment `at` of its run."""
    (latest,) = connection.execute(_LATEST, (run,)).fetchone()
    if at < latest:
        # It shortens a pause that was counted already.
        sum_up(connection, run)
    else:
        connection.execute(_ADDED, (latest, attempt))


def mark(connection: sqlite3.Connection, attempt: int, clean: int, answered: int) -> None:
    """Add to what was said of the changes in the quarter in which this attempt fell."""
    connection.execute(_MARKED, (clean, answered, attempt))


def sum_up(connection: sqlite3.Connection, run: int) -> None:
    """Sum up the run with this number anew from its attempts."""
    connection.execute("DELETE FROM quarters WHERE run = ?", (run,))
    connection.execute(_OF_RUN, (run,))
