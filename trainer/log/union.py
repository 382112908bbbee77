"""The union of two practice logs on one connection: ours in its tables, the other's entries in temporary ones.

An entry (a run; an attempt with its measures) is known by its id. Where both logs hold it and tell it differently, as
when one was carried off before the run was over, the account that knows more stands: the one with more columns filled,
each finger and odd note counted as one (a log that was mended may lack some), then one called unclean before one called
clean, then the greater by its text. That is a total order of whole accounts, so the union depends on what was joined
and not on when, in which direction or how often.

Beside a series and a run stand only numbers that follow from their attempts; they are taken anew by `store.sum_up` and
`quarters.sum_up`.
"""

# ruff: noqa: S608  # every statement is made of names of our own schema; values are bound

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from trainer.log import quarters, store
from trainer.log.rows import one_of, sound
from trainer.practice.record import How, Series, Texture, Timing

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Iterator

    from trainer.log.rows import Row

TABLES = {
    "guitars": "n",
    "series": "n",
    "runs": "n",
    "attempts": "n",
    "measures": "attempt",
    "fingers": "attempt",
    "notes": "attempt",
}
"""Every table that holds entries, and the column by which its rows are found; `quarters` follows from them."""
_NUMBERS = {"n", "run", "series", "attempt", "guitar"}
"""Columns that number the rows of one log; what they point to is found anew in the other."""
_SERIES = tuple(field.name for field in fields(Series))
"""The columns that tell one series from another; all others of that table are its summary."""
_WORDS = (
    ("series", "timing", Timing),
    ("series", "texture", Texture),
    ("series", "how", How),
    ("runs", "timing", Timing),
)


@dataclass(frozen=True, slots=True)
class Brought:
    """What one log brings into another."""

    runs: int
    """Runs that are new."""
    new: int
    """Attempts that are new."""
    known: int
    """Attempts that were there already."""
    fuller: int
    """Attempts and runs that were there already and are told more fully now."""
    drills: tuple[tuple[str, int], ...]
    """Titles of the drills with new attempts, and how many; the most first."""


def copy(ours: sqlite3.Connection, theirs: sqlite3.Connection) -> None:
    """Copy every entry of `theirs` into temporary tables of `ours`; both are logs of today's format.

    Raises sqlite3.DatabaseError where an entry is none that a program of ours has written.
    """
    ours.execute("BEGIN")
    for table, key in TABLES.items():
        columns = ("n", *_SERIES) if table == "series" else _columns(ours, table)
        names = ", ".join(columns)
        ours.execute(f"CREATE TEMP TABLE their_{table} AS SELECT {names} FROM main.{table} WHERE false")
        ours.executemany(
            f"INSERT INTO their_{table} VALUES ({', '.join('?' * len(columns))})",
            _sound(theirs.execute(f"SELECT {names} FROM {table}")),
        )
        ours.execute(f"CREATE INDEX temp.their_{table}_key ON their_{table} ({key})")
    for table, column, kind in _WORDS:
        for (word,) in ours.execute(f"SELECT DISTINCT {column} FROM their_{table}"):
            one_of(kind, word)
    ours.execute("COMMIT")


def compare(ours: sqlite3.Connection) -> Brought:
    """Return what the copied entries bring to what `ours` holds at this moment; nothing of it is written yet."""
    for table in ("runs", "attempts"):
        for whose, prefix in (("our", ""), ("their", "their_")):
            ours.execute(f"CREATE TEMP VIEW {whose}_{table}_told AS {_ACCOUNTS[table](ours, prefix)}")
        ours.execute(f"CREATE TEMP TABLE brought_{table} (theirs INTEGER PRIMARY KEY, ours INTEGER)")
        ours.execute(
            f"INSERT INTO brought_{table} SELECT t.n, NULL FROM their_{table} AS t"
            f" WHERE NOT EXISTS (SELECT 1 FROM main.{table} AS o WHERE o.id = t.id)"
        )
        ours.execute(
            f"INSERT INTO brought_{table} SELECT t.n, o.n FROM their_{table}_told AS t"
            f" CROSS JOIN our_{table}_told AS o ON o.id = t.id"
            " WHERE (t.known, t.unclean, t.told) > (o.known, o.unclean, o.told)"
        )
        ours.execute(f"CREATE INDEX temp.brought_{table}_ours ON brought_{table} (ours)")
    runs, fuller_runs = _counts(ours, "runs")
    new, fuller = _counts(ours, "attempts")
    (all_of_them,) = ours.execute("SELECT count(*) FROM their_attempts").fetchone()
    return Brought(runs, new, all_of_them - new, fuller_runs + fuller, tuple(ours.execute(_DRILLS)))


def join(ours: sqlite3.Connection) -> None:
    """Write what `compare` found, in the same transaction, and sum up every series and every run that it touches."""
    touched = _touched(ours)
    for statement in (_GUITARS, _NEW_SERIES):
        ours.execute(statement)
    _write(ours, "runs", {})
    _write(ours, "attempts", {"run": _RUN, "series": _ITS_SERIES})
    ours.execute(
        "UPDATE brought_attempts SET ours = (SELECT o.n FROM their_attempts AS t JOIN main.attempts AS o ON o.id = t.id"
        " WHERE t.n = theirs) WHERE ours IS NULL"
    )
    # What was heard of a change is told as a whole; its fingers and odd notes go with it.
    ours.execute("DELETE FROM main.measures WHERE attempt IN (SELECT ours FROM brought_attempts)")
    for table in ("measures", "fingers", "notes"):
        _write_beside(ours, table)
    series, runs = ({*before, *now} for before, now in zip(touched, _touched(ours), strict=True))
    for number in series:
        store.sum_up(ours, number)
    for number in runs:
        quarters.sum_up(ours, number)


def _touched(ours: sqlite3.Connection) -> tuple[set[int], set[int]]:
    """Return the numbers of the series and of the runs to which something is brought that stands in our log by now."""
    series, runs = ({number for (number,) in ours.execute(question)} for question in (_SERIES_TOUCHED, _RUNS_TOUCHED))
    return series, runs


def _write(ours: sqlite3.Connection, table: str, found: dict[str, str]) -> None:
    """Write the new entries of a table in the order of theirs, and the fuller accounts in place of ours.

    `found` says for each column that is not copied how its value is found.
    """
    copied = _told(ours, table)
    names, values = ", ".join((*found, *copied)), ", ".join((*found.values(), *copied))
    theirs = f"SELECT {values} FROM brought_{table} JOIN their_{table} AS t ON t.n = theirs WHERE ours"
    ours.execute(f"INSERT INTO main.{table} ({names}) {theirs} IS NULL ORDER BY theirs")
    ours.execute(
        f"UPDATE main.{table} SET ({names}) = ({theirs} = {table}.n) WHERE n IN (SELECT ours FROM brought_{table})"
    )


def _write_beside(ours: sqlite3.Connection, table: str) -> None:
    """Write the rows of a table that stand beside the attempts brought."""
    found = {"attempt": "ours"} | ({"guitar": _GUITAR} if table == "measures" else {})
    copied = _told(ours, table)
    names, values = ", ".join((*found, *copied)), ", ".join((*found.values(), *copied))
    ours.execute(
        f"INSERT INTO main.{table} ({names})"
        f" SELECT {values} FROM brought_attempts CROSS JOIN their_{table} AS t ON t.attempt = theirs"
    )


def _columns(connection: sqlite3.Connection, table: str) -> tuple[str, ...]:
    return tuple(name for (name,) in connection.execute("SELECT name FROM pragma_table_info(?, 'main')", (table,)))


def _told(connection: sqlite3.Connection, table: str) -> tuple[str, ...]:
    """Return the columns of a table that mean the same in every log."""
    return tuple(name for name in _columns(connection, table) if name not in _NUMBERS)


def _sound(rows: Iterable[Row]) -> Iterator[Row]:
    """Yield rows without an infinite number; kinds of value are the file's own affair."""
    return (sound(row, ((object,),) * len(row)) for row in rows)


def _counts(ours: sqlite3.Connection, table: str) -> tuple[int, int]:
    """Return how many entries are new and how many are told more fully."""
    counts: tuple[int, int] = ours.execute(
        f"SELECT count(*) FILTER (WHERE ours IS NULL), count(ours) FROM brought_{table}"
    ).fetchone()
    return counts


def _known(columns: Iterable[str]) -> str:
    return " + ".join(f"({column} IS NOT NULL)" for column in columns)


def _text(columns: Iterable[str]) -> str:
    """Return SQL for one text that no two different rows have in common."""
    return " || ',' || ".join(f"quote({column})" for column in columns)


def _runs_told(connection: sqlite3.Connection, prefix: str) -> str:
    columns = _told(connection, "runs")
    return f"SELECT n, id, {_known(columns)} AS known, 0 AS unclean, {_text(columns)} AS told FROM {_at(prefix)}runs"


def _attempts_told(connection: sqlite3.Connection, prefix: str) -> str:
    at = _at(prefix)
    own = [f"a.{name}" for name in _told(connection, "attempts")]
    measured = ["g.device", "g.calibration", *(f"m.{name}" for name in _told(connection, "measures"))]
    beside = [
        f"(SELECT group_concat({_text(told)}) FROM"
        f" (SELECT * FROM {at}{table} WHERE attempt = a.n ORDER BY {', '.join(told)}))"
        for table in ("fingers", "notes")
        for told in (_told(connection, table),)
    ]
    counted = [f"(SELECT count(*) FROM {at}{table} WHERE attempt = a.n)" for table in ("fingers", "notes")]
    columns = ["r.id", *(f"s.{name}" for name in _SERIES), *own, *measured, *beside]
    known = " + ".join((_known((*own, *measured)), *counted))
    return f"""
        SELECT a.n, a.id, {known} AS known, a.clean IS 0 AS unclean, {_text(columns)} AS told
        FROM {at}attempts AS a JOIN {at}runs AS r ON r.n = a.run JOIN {at}series AS s ON s.n = a.series
        LEFT JOIN {at}measures AS m ON m.attempt = a.n LEFT JOIN {at}guitars AS g ON g.n = m.guitar"""


def _at(prefix: str) -> str:
    return f"temp.{prefix}" if prefix else "main."


_ACCOUNTS = {"runs": _runs_told, "attempts": _attempts_told}
"""How each kind of entry is told: its number and id, how much is known, whether it is called unclean, and all of it."""

_SAME_SERIES = " AND ".join(f"o.{name} IS s.{name}" for name in _SERIES)
_RUN = "(SELECT o.n FROM their_runs AS r JOIN main.runs AS o ON o.id = r.id WHERE r.n = t.run)"
_ITS_SERIES = f"(SELECT o.n FROM their_series AS s JOIN main.series AS o ON {_SAME_SERIES} WHERE s.n = t.series)"
_GUITAR = """(SELECT o.n FROM their_guitars AS g JOIN main.guitars AS o USING (device, calibration)
    WHERE g.n = t.guitar)"""
_GUITARS = """
    INSERT INTO main.guitars (device, calibration) SELECT device, calibration FROM their_guitars WHERE n IN (
        SELECT guitar FROM brought_attempts JOIN their_measures ON attempt = theirs
    ) ON CONFLICT DO NOTHING"""
_NEW_SERIES = f"""
    INSERT INTO main.series ({", ".join(_SERIES)}) SELECT {", ".join(_SERIES)} FROM their_series WHERE n IN (
        SELECT series FROM brought_attempts JOIN their_attempts ON n = theirs
    ) ON CONFLICT DO NOTHING"""
_SERIES_TOUCHED = "SELECT DISTINCT series FROM main.attempts WHERE n IN (SELECT ours FROM brought_attempts)"
# The first pause of a run counts from its begin, which a fuller account may tell otherwise.
_RUNS_TOUCHED = """
    SELECT run FROM main.attempts WHERE n IN (SELECT ours FROM brought_attempts)
    UNION SELECT ours FROM brought_runs WHERE ours IS NOT NULL"""
_DRILLS = """
    SELECT r.drill, count(*) AS new FROM brought_attempts JOIN their_attempts AS t ON t.n = theirs
    JOIN their_runs AS r ON r.n = t.run WHERE ours IS NULL GROUP BY r.drill ORDER BY new DESC, r.drill"""
