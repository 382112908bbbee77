"""Taking out of a log what is to be forgotten, so that no byte of the file still tells it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong
from trainer.log import connect, faults
from trainer.log.history import reading
from trainer.log.migrations import transaction

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def in_use(path: Path) -> bool:
    """Tell whether a program has the log at `path` open at this moment.

    Only the last connection to a log may give up its write-ahead log, which moves all of it into the main file.
    """
    try:
        with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.OperationalError as error:
        return faults.is_busy(error)
    except faults.UNREADABLE:
        pass  # nobody can have this one open for long
    return False


def remarks(path: Path, mentions: Callable[[str], bool]) -> int:
    """Return how many remarks on runs in the log at `path` are such that `mentions` tells of them."""
    with reading(path) as history:
        return sum(mentions(run.remark) for run in history.runs(newest=None) if run.remark)


def titled(path: Path, mentions: Callable[[str], bool]) -> bool:
    """Tell whether a drill in the log at `path` has such a title."""
    with reading(path) as history:
        return any(map(mentions, history.drills()))


def remove_remarks(path: Path, mentions: Callable[[str], bool]) -> int:
    """Remove the remarks on runs that `mentions` tells of, and write the log at `path` anew without what was deleted.

    Return how many there were. Raises ChangeoverError where the log cannot be written, or another program has it open.
    """
    try:
        with closing(connect.for_writing(path)) as connection:
            connection.execute("PRAGMA secure_delete = ON")
            with transaction(connection):
                remarks = connection.execute("SELECT n, remark FROM runs WHERE remark IS NOT NULL").fetchall()
                found = [(number,) for number, remark in remarks if mentions(remark)]
                connection.executemany("UPDATE runs SET remark = NULL WHERE n = ?", found)
            connection.execute("VACUUM")
            busy, _, _ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    except (*faults.UNREADABLE, OSError) as error:
        raise ChangeoverError(faults.fault(error, path)) from error
    if busy:
        raise wrong("another program reads the practice log", file=str(path), hint="close it and say so once more")
    return len(found)
