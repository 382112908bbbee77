"""What stands in the log: a list of numbered steps, each taken once, whole or not at all.

A step that has been released is never edited: logs exist that took it. To change the schema, append a step. SQL here is
frozen too, so a step uses no code that may change later.
"""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.errors import wrong
from trainer.log.faults import MEND_OR_MOVE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

APPLICATION = 0x43484756
"""`CHGV`, SQLite's application id: tells a practice log from the database of another program."""


@dataclass(frozen=True, slots=True)
class Migration:
    """One step from a schema to the next."""

    number: int
    """From 1 up, without gaps."""
    name: str
    """What it brings."""
    statements: tuple[str, ...]
    """SQL statements, run in one transaction together with the record that they were."""


MIGRATIONS = (
    Migration(
        1,
        "runs, series and attempts",
        (
            f"PRAGMA application_id = {APPLICATION}",
            """CREATE TABLE migrations (
                number INTEGER PRIMARY KEY,
                name TEXT NOT NULL,
                at TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'))
            ) STRICT""",
            """CREATE TABLE runs (
                n INTEGER PRIMARY KEY,
                id TEXT NOT NULL UNIQUE,
                drill TEXT NOT NULL,
                at REAL NOT NULL,
                timing TEXT NOT NULL,
                tempo REAL CHECK (tempo > 0),
                asked INTEGER,
                landed INTEGER,
                remark TEXT
            ) STRICT""",
            "CREATE INDEX runs_by_time ON runs (at)",
            # What is never pooled stands here once; an attempt points to it. So the long change key is stored once too.
            """CREATE TABLE series (
                n INTEGER PRIMARY KEY,
                change TEXT NOT NULL,
                timing TEXT NOT NULL,
                source TEXT NOT NULL,
                tempo REAL CHECK (tempo > 0),
                texture TEXT NOT NULL
            ) STRICT""",
            # In a unique index one NULL differs from the next; no tempo must equal no tempo.
            "CREATE UNIQUE INDEX series_once ON series (change, timing, source, texture, ifnull(tempo, 0.0))",
            # `n` never changes and is there for later tables to point to, the measures of a heard change among them.
            """CREATE TABLE attempts (
                n INTEGER PRIMARY KEY,
                id TEXT NOT NULL UNIQUE,
                run INTEGER NOT NULL REFERENCES runs (n),
                series INTEGER NOT NULL REFERENCES series (n),
                at REAL NOT NULL,
                change_ms REAL,
                clean INTEGER CHECK (clean IN (0, 1))
            ) STRICT""",
            # The newest times of a series are read from this index alone.
            "CREATE INDEX attempts_by_series ON attempts (series, at, n, change_ms)",
            "CREATE INDEX attempts_by_run ON attempts (run)",
            # Each attempt told in full, for queries and for whoever opens the file by hand.
            """CREATE VIEW played AS
                SELECT a.n, a.series AS in_series, a.run AS in_run, a.id, r.id AS run, r.drill, a.at, s.change,
                    s.timing, s.source, s.tempo, s.texture, a.change_ms, a.clean
                FROM attempts AS a JOIN series AS s ON s.n = a.series JOIN runs AS r ON r.n = a.run""",
        ),
    ),
    Migration(
        2,
        "a summary beside each series",
        (
            "ALTER TABLE series ADD COLUMN attempts INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE series ADD COLUMN best_ms REAL",
            "ALTER TABLE series ADD COLUMN median_ms REAL",
            "ALTER TABLE series ADD COLUMN clean INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE series ADD COLUMN answered INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE series ADD COLUMN last_at REAL",
            """UPDATE series SET (attempts, best_ms, clean, answered, last_at) = (
                SELECT count(*), min(change_ms), ifnull(sum(clean), 0), count(clean), max(at)
                FROM attempts WHERE attempts.series = series.n
            )""",
            # The median over the newest 200 attempts: the mean of the middle one or two.
            """UPDATE series SET median_ms = (
                SELECT avg(change_ms) FROM (
                    SELECT change_ms, row_number() OVER (ORDER BY change_ms) AS place, count(*) OVER () AS total
                    FROM (
                        SELECT change_ms FROM attempts WHERE attempts.series = series.n
                        ORDER BY at DESC, attempts.n DESC LIMIT 200
                    ) WHERE change_ms IS NOT NULL
                ) WHERE place IN ((total + 1) / 2, (total + 2) / 2)
            )""",
        ),
    ),
    Migration(
        3,
        "the measures of heard changes",
        (
            # What notes came from and what was taken off them is the same for many changes, and told once.
            """CREATE TABLE guitars (
                n INTEGER PRIMARY KEY,
                device TEXT NOT NULL,
                calibration TEXT NOT NULL,
                UNIQUE (device, calibration)
            ) STRICT""",
            # The change time and whether it was clean stand with the attempt.
            """CREATE TABLE measures (
                attempt INTEGER PRIMARY KEY REFERENCES attempts (n) ON DELETE CASCADE,
                guitar INTEGER NOT NULL REFERENCES guitars (n),
                expected INTEGER NOT NULL CHECK (expected IN (0, 1)),
                strike_ms REAL,
                delay_ms REAL,
                lateness_ms REAL,
                gap_ms REAL,
                gap_melody_ms REAL,
                gap_bass_ms REAL,
                spread_ms REAL CHECK (spread_ms >= 0),
                direction TEXT CHECK (direction IN ('block', 'bass first', 'treble first')),
                balance REAL
            ) STRICT""",
            """CREATE TABLE fingers (
                attempt INTEGER NOT NULL REFERENCES measures (attempt) ON DELETE CASCADE,
                asked TEXT NOT NULL CHECK (asked IN ('kept', 'guide')),
                finger INTEGER NOT NULL CHECK (finger BETWEEN 1 AND 4),
                answer TEXT NOT NULL CHECK (answer IN ('yes', 'no', 'not heard')),
                PRIMARY KEY (attempt, asked, finger)
            ) STRICT, WITHOUT ROWID""",
            """CREATE TABLE notes (
                attempt INTEGER NOT NULL REFERENCES measures (attempt) ON DELETE CASCADE,
                what TEXT NOT NULL CHECK (what IN ('wrong', 'octave', 'missing')),
                place INTEGER NOT NULL,
                string INTEGER CHECK (string > 0),
                midi INTEGER NOT NULL CHECK (midi BETWEEN 0 AND 127),
                PRIMARY KEY (attempt, what, place)
            ) STRICT, WITHOUT ROWID""",
            # The summary of a series: medians like that of its times, fingers kept down counted like what was clean.
            "ALTER TABLE series ADD COLUMN measured INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE series ADD COLUMN gap_ms REAL",
            "ALTER TABLE series ADD COLUMN spread_ms REAL",
            "ALTER TABLE series ADD COLUMN late_ms REAL",
            "ALTER TABLE series ADD COLUMN kept INTEGER NOT NULL DEFAULT 0",
            "ALTER TABLE series ADD COLUMN kept_answered INTEGER NOT NULL DEFAULT 0",
            "DROP VIEW played",
            """CREATE VIEW played AS
                SELECT a.n, a.series AS in_series, a.run AS in_run, a.id, r.id AS run, r.drill, a.at, s.change,
                    s.timing, s.source, s.tempo, s.texture, a.change_ms, a.clean, m.expected, m.strike_ms, m.delay_ms,
                    m.lateness_ms, m.gap_ms, m.gap_melody_ms, m.gap_bass_ms, m.spread_ms, m.direction, m.balance,
                    g.device, g.calibration
                FROM attempts AS a JOIN series AS s ON s.n = a.series JOIN runs AS r ON r.n = a.run
                LEFT JOIN measures AS m ON m.attempt = a.n LEFT JOIN guitars AS g ON g.n = m.guitar""",
        ),
    ),
    Migration(
        4,
        "read and recalled apart",
        (
            # What was played before had its board in sight.
            "ALTER TABLE series ADD COLUMN how TEXT NOT NULL DEFAULT 'read' CHECK (how IN ('read', 'recalled'))",
            "DROP INDEX series_once",
            "CREATE UNIQUE INDEX series_once ON series (change, timing, source, texture, ifnull(tempo, 0.0), how)",
            "DROP VIEW played",
            """CREATE VIEW played AS
                SELECT a.n, a.series AS in_series, a.run AS in_run, a.id, r.id AS run, r.drill, a.at, s.change,
                    s.timing, s.source, s.tempo, s.texture, s.how, a.change_ms, a.clean, m.expected, m.strike_ms,
                    m.delay_ms, m.lateness_ms, m.gap_ms, m.gap_melody_ms, m.gap_bass_ms, m.spread_ms, m.direction,
                    m.balance, g.device, g.calibration
                FROM attempts AS a JOIN series AS s ON s.n = a.series JOIN runs AS r ON r.n = a.run
                LEFT JOIN measures AS m ON m.attempt = a.n LEFT JOIN guitars AS g ON g.n = m.guitar""",
        ),
    ),
    Migration(
        5,
        "runs read and recalled apart",
        (
            # Of a run of which no attempt is kept nobody knows any more; most of those were read.
            "ALTER TABLE runs ADD COLUMN how TEXT NOT NULL DEFAULT 'read' CHECK (how IN ('read', 'recalled'))",
            """UPDATE runs SET how = 'recalled' WHERE n IN (
                SELECT run FROM attempts WHERE series IN (SELECT n FROM series WHERE how = 'recalled'))""",
        ),
    ),
    Migration(
        6,
        "a summary of each quarter of an hour of a run",
        (
            # Every time zone is whole quarters ahead of UTC, so that days and weeks anywhere are made of them.
            """CREATE TABLE quarters (
                run INTEGER NOT NULL REFERENCES runs (n),
                quarter INTEGER NOT NULL,
                tries INTEGER NOT NULL,
                clean INTEGER NOT NULL,
                answered INTEGER NOT NULL,
                played_s REAL NOT NULL,
                last_at REAL NOT NULL,
                PRIMARY KEY (run, quarter)
            ) STRICT, WITHOUT ROWID""",
            # Playing: from each landing to the next, or from the run's begin, at most a minute of it.
            """INSERT INTO quarters
                SELECT run, CAST(at / 900 AS INTEGER), count(*), ifnull(sum(clean), 0), count(clean),
                    total(min(max(pause, 0.0), 60.0)), max(at)
                FROM (
                    SELECT a.run, a.at, a.clean, a.at - ifnull(lag(a.at) OVER (PARTITION BY a.run ORDER BY a.at), r.at)
                        AS pause
                    FROM attempts AS a JOIN runs AS r ON r.n = a.run
                ) GROUP BY 1, 2""",
        ),
    ),
)
"""Every step, in order."""


def version(connection: sqlite3.Connection) -> int:
    """Return the number of the last step taken, 0 for an empty file."""
    if not connection.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'migrations'").fetchone()[0]:
        return 0
    return int(connection.execute("SELECT ifnull(max(number), 0) FROM migrations").fetchone()[0])


def check_ours(connection: sqlite3.Connection, path: Path) -> None:
    """Raise ChangeoverError where the file holds something else than a practice log this program can read."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (entries,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if application != APPLICATION and (application or entries):
        raise wrong("this file is the database of another program", file=str(path), hint=MEND_OR_MOVE)
    if (number := version(connection)) > MIGRATIONS[-1].number:
        raise wrong(
            f"the practice log has format {number}, this program knows up to {MIGRATIONS[-1].number}",
            file=str(path),
            hint="update Changeover; nothing was written to it",
        )


def migrate(connection: sqlite3.Connection, steps: Sequence[Migration] = MIGRATIONS) -> None:
    """Take every step not yet taken. Each is one transaction; two programs that start at once take turns."""
    for step in steps:
        with transaction(connection):
            # Asked inside the transaction: another program may have taken the step while this one waited.
            if step.number > version(connection):
                for statement in step.statements:
                    connection.execute(statement)
                connection.execute("INSERT INTO migrations (number, name) VALUES (?, ?)", (step.number, step.name))


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Write all of what is done inside, or nothing where it raises."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
