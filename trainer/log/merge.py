"""One practice log taken into another: all of it in one transaction, or nothing.

What a log cannot tell is what was taken back: where the other one still holds it, it is there again after a merge.
"""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing, contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong
from trainer.log import connect, faults, union
from trainer.log.migrations import transaction

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from trainer.log.union import Brought

PATIENCE_S = 30.0
"""How long another program that writes is waited for, in seconds."""
_RETRY_S = 0.05
_AGAIN = "nothing was changed; fetch the file once more"
"""The hint for a file that was taken from somewhere."""


def merge(source: Path, into: Path, *, dry_run: bool = False) -> Brought:
    """Take all of the log at `source` into the one at `into`, which is made where there is none; return what it brings.

    The source is only read; one of an older format is brought up to date in memory. With `dry_run` nothing is written.
    Raises ChangeoverError.
    """
    with _blaming(source, _AGAIN):
        _check_apart(source, into)
        theirs = _looked_through(source)
    with closing(theirs), _blaming(into), closing(_ours(into, dry_run)) as ours:
        with _blaming(source, _AGAIN):
            theirs.execute("BEGIN")
            union.copy(ours, theirs)
        if dry_run:
            return union.compare(ours)
        with transaction(ours):
            brought = union.compare(ours)
            _join(ours, source)
        ours.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        return brought


def _check_apart(source: Path, into: Path) -> None:
    if not source.is_file():
        raise wrong("there is no such file", file=str(source), hint="give the practice log that was taken away")
    if into.exists() and source.samefile(into):
        raise wrong("this file is the practice log itself", file=str(source), hint="give one that was taken away")
    if not source.stat().st_size:
        raise wrong("this file is empty, not a practice log", file=str(source), hint=_AGAIN)


def _looked_through(path: Path) -> sqlite3.Connection:
    """Return a connection to the log at `path` that was looked through from end to end."""
    connection = connect.for_reading(path)
    try:
        (finding,) = connection.execute("PRAGMA quick_check(1)").fetchone()
        astray = connection.execute("PRAGMA foreign_key_check").fetchone()
        if finding != "ok" or astray is not None:
            raise sqlite3.DatabaseError(finding)
    except BaseException:
        connection.close()
        raise
    return connection


def _ours(path: Path, dry_run: bool) -> sqlite3.Connection:
    """Return a connection to our log; one that may write, unless nothing is to be written."""
    if dry_run:
        return connect.for_reading(path)
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            connection = connect.for_writing(path)
        except sqlite3.OperationalError as error:
            if not faults.is_busy(error) or time.monotonic() > until:
                raise
            time.sleep(_RETRY_S)
        else:
            connection.execute(f"PRAGMA busy_timeout = {PATIENCE_S * 1000:.0f}")
            return connection


def _join(ours: sqlite3.Connection, source: Path) -> None:
    try:
        union.join(ours)
    except sqlite3.IntegrityError as error:
        # What the schema refuses no program of ours has written.
        with _blaming(source, _AGAIN):
            raise sqlite3.DatabaseError(str(error)) from error


@contextmanager
def _blaming(path: Path, hint: str | None = None) -> Iterator[None]:
    """Tell what goes wrong inside as something wrong with the file at `path`; with `hint` it is no log of one's own."""
    try:
        yield
    except (*faults.UNREADABLE, OSError, ChangeoverError) as error:
        problem = faults.fault(error, path)
        if hint is not None and faults.untouched(problem):
            mending = f", or {faults.MENDING}" if problem.hint == faults.MEND else ""
            problem = replace(problem, hint=f"{hint}{mending}")
        raise ChangeoverError(problem) from error
