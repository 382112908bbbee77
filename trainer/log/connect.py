"""Opening the log: once for writing, for a moment for reading, never where something would be overwritten."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from trainer.errors import wrong
from trainer.log import faults
from trainer.log.migrations import MIGRATIONS, check_ours, migrate, version

if TYPE_CHECKING:
    from pathlib import Path

_WAIT_S = 0.1
"""How long SQLite itself waits for another writer before it says busy; the log's writer then asks again."""
_SMALLEST_PAGE = 512
"""Bytes. A database is one page at least; SQLite takes some shorter files for empty and would write over them."""
_READ_WAIT_S = 2.0
"""How long a reader waits; it only ever has to while a log left by a killed program is put in order."""


def for_writing(path: Path) -> sqlite3.Connection:
    """Return a connection that may write to the log at `path`, made or brought up to date where need be.

    An existing file is looked through from end to end on a read-only connection first (0.2 s for a million changes),
    so that a damaged one is found before anything is written to it. Raises sqlite3.Error, OSError, or ChangeoverError
    for a file that is not ours to write to.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    if _has_content(path):
        _look_through(path)
    connection = sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
    try:
        (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        # With a write-ahead log, NORMAL loses at most the last commits when the power fails, never the file, and
        # nothing when only the program dies. Where the file system allows none, commits must reach the disk.
        connection.execute(f"PRAGMA synchronous = {'NORMAL' if mode == 'wal' else 'FULL'}")
        connection.execute("PRAGMA foreign_keys = ON")
        # The writer moves commits into the main file when nobody is waiting for it.
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        migrate(connection)
        # SQLite opens what it may not write to without a word. This asks for the right to write and writes nothing.
        connection.execute("UPDATE migrations SET name = name WHERE false")
    except BaseException:
        connection.close()
        raise
    return connection


def for_reading(path: Path) -> sqlite3.Connection:
    """Return a connection on which nothing can be written to the log at `path`.

    No log yet reads as an empty one. An older format is read through a copy in memory that is brought up to date.
    Raises sqlite3.Error, or ChangeoverError for a file that is not a log we know.
    """
    if not _has_content(path):
        return _copy(None)
    connection = _read_only(path, _READ_WAIT_S)
    try:
        check_ours(connection, path)
        _check_length(connection, path)
        if version(connection) == MIGRATIONS[-1].number:
            return connection
        upgraded = _copy(connection)
    except BaseException:
        connection.close()
        raise
    connection.close()
    return upgraded


def _has_content(path: Path) -> bool:
    # An empty file is what a program leaves that was killed right after it made one.
    return path.exists() and (path.is_dir() or path.stat().st_size > 0)


def _check_length(connection: sqlite3.Connection, path: Path) -> None:
    """Raise sqlite3.DatabaseError where the file is shorter than it says: a reader may never meet the missing part."""
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (size,) = connection.execute("PRAGMA page_size").fetchone()
    # Pages that wait in the write-ahead log need not have reached the file. In this order: they may just be on the way.
    if not _has_content(_write_ahead(path)) and path.stat().st_size < pages * size:
        raise sqlite3.DatabaseError("the end of the file is missing")


def _look_through(path: Path) -> None:
    connection = _read_only(path, _WAIT_S)
    try:
        check_ours(connection, path)
        (finding,) = connection.execute("PRAGMA quick_check(1)").fetchone()
        if finding != "ok":
            raise sqlite3.DatabaseError(finding)
    finally:
        connection.close()


def _read_only(path: Path, wait_s: float) -> sqlite3.Connection:
    """Return a read-only connection that has read its first page."""
    try:
        return _touched(path, "mode=ro", wait_s)
    except sqlite3.OperationalError as error:
        # A write-ahead log needs a small file beside it even to be read. In a folder that allows none, the log may be
        # read as it stands, provided no commits wait in such a file.
        if faults.is_busy(error) or _has_content(_write_ahead(path)):
            raise
        return _touched(path, "immutable=1", wait_s)


def _touched(path: Path, how: str, wait_s: float) -> sqlite3.Connection:
    if path.is_file() and path.stat().st_size < _SMALLEST_PAGE:
        raise wrong("this file is not a practice log", file=str(path), hint=faults.MOVE)
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, timeout=wait_s, isolation_level=None)
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _write_ahead(path: Path) -> Path:
    return path.with_name(f"{path.name}-wal")


def _copy(source: sqlite3.Connection | None) -> sqlite3.Connection:
    """Return an up-to-date copy of `source` in memory, or an empty log there; gone when it is closed."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    if source is not None:
        source.backup(connection)
    migrate(connection)
    return connection
