"""What may go wrong with the log, in words a player can act on."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, Problem

if TYPE_CHECKING:
    from pathlib import Path

MOVE = "nothing was written to it; move the file away and a new log is begun"
"""The hint for a file that must not be touched."""
MENDING = "'changeover mend FILE' saves what can still be read"
"""What to do with a log that is damaged."""
MEND = f"nothing was written to it; {MENDING}"
"""The hint for a log of which some may be saved."""
MEND_OR_MOVE = f"nothing was written to it; if it was one, {MENDING}; else move the file away and a new log is begun"
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)
"""What a damaged file makes Python's module raise; the latter where SQLite's message quotes bytes that are no text."""
_PRIMARY = 0xFF
"""SQLite's extended result codes carry the primary one in their lowest byte."""


class RefusedError(ValueError):
    """One entry cannot be written; the log itself is sound."""


@dataclass(frozen=True, slots=True)
class _Fault:
    what: str
    hint: str


_DAMAGED = _Fault("the practice log is damaged", MEND)
_UNREACHABLE = _Fault("the practice log cannot be opened", "is the folder there, and may you write to it?")
_LOCKED = _Fault("another program keeps the practice log locked", "close that program and start again")
_READ_ONLY = _Fault("the practice log is read-only", "allow writing to the file and its folder")
_FAULTS = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _Fault("this file is not a practice log", MEND_OR_MOVE),
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: _UNREACHABLE,
    sqlite3.SQLITE_FULL: _Fault("the disk is full", "make room and start again"),
    sqlite3.SQLITE_IOERR: _Fault("the disk that holds the practice log failed", "check the disk, then start again"),
}


def fault(error: Exception, path: Path) -> Problem:
    """Return what `error` means for the log at `path`."""
    if isinstance(error, ChangeoverError):
        return error.problems[0]
    if isinstance(error, OSError):
        return Problem(_UNREACHABLE.what, file=str(path), hint=error.strerror or _UNREACHABLE.hint)
    known = _DAMAGED if isinstance(error, UnicodeDecodeError) else _FAULTS.get(_code(error))
    if known is None:
        return Problem(f"the practice log cannot be used: {error}", file=str(path), hint="start again")
    return Problem(known.what, file=str(path), hint=known.hint)


def untouched(problem: Problem) -> bool:
    """Tell whether `problem` is with what stands in the file, so that nothing is written to it."""
    return problem.hint in {MOVE, MEND, MEND_OR_MOVE}


def unkept(problem: Problem) -> Problem:
    """Return `problem` as it is told to somebody who is practising: a warning, and what it costs."""
    return replace(problem, what=f"{problem.what}; practice goes on but is not kept", warning=True)


def put_by(path: Path) -> Problem:
    """Return what a player is told whose practice waits in memory."""
    what = f"{_LOCKED.what}; practice goes on and is written down as soon as it lets go"
    return Problem(what, file=str(path), hint="close that program", warning=True)


def too_much(most: int, path: Path) -> Problem:
    """Return what is said of an entry for which there is no more room in memory."""
    what = f"{_LOCKED.what}, and {most:,} entries wait for it already; practice goes on but is not kept"
    return Problem(what, file=str(path), hint="close that program", warning=True)


def lost(entries: int, path: Path) -> Problem:
    """Return what is said at the end where a log was locked up to then."""
    count = "1 entry was" if entries == 1 else f"{entries:,} entries were"
    return Problem(f"{_LOCKED.what}; {count} not written down", file=str(path), hint="close that program", warning=True)


def is_busy(error: Exception) -> bool:
    """Return whether waiting may help: another connection holds the log at this moment."""
    return isinstance(error, sqlite3.OperationalError) and _code(error) in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def _code(error: Exception) -> int:
    """Return SQLite's primary result code; what Python finds unreadable in a row carries none and counts as damage."""
    if not isinstance(error, sqlite3.DatabaseError):
        return sqlite3.SQLITE_ERROR
    return getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & _PRIMARY
