"""A damaged log mended: all that can still be read into a new one, and the damaged file put aside, never deleted."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong
from trainer.log import faults, union
from trainer.log.mending import swap
from trainer.log.mending.anew import anew
from trainer.log.mending.image import image
from trainer.log.mending.salvage import salvage
from trainer.log.migrations import MIGRATIONS, check_ours, migrate, version

if TYPE_CHECKING:
    from datetime import date

    from trainer.log.mending.anew import Saved
    from trainer.log.mending.image import Image

_NOTHING = "nothing was changed"


@dataclass(frozen=True, slots=True)
class Mended:
    """What came of mending a log."""

    saved: Saved
    """What stands in the new log."""
    log: Path
    """Where it lies."""
    damaged: Path
    """Where the damaged one lies now."""


def mend(path: Path, today: date, *, into: Path | None = None) -> Mended | None:
    """Save what can still be read of the log at `path`; None where nothing is wrong with it, and nothing is done.

    The damaged file is put aside under a name with the day in it and the new log takes its place; with `into`, a file
    that is not there yet, the damaged one is only read. Raises ChangeoverError where the file is no log of ours, none
    of it can be read, another program has it open, or the system refuses.
    """
    try:
        if not path.is_file():
            raise wrong("there is no such file", file=str(path), hint="'changeover where' says where your log lies")
        path = Path(os.path.realpath(path))
        with swap.alone(path, only_read=into is not None) as content:
            if into is None:
                swap.undo(path, content)
            found = _damaged(path, content)
            if found is None:
                return None
            saved = _saved(found, path)
            if into is None:
                return Mended(saved, path, swap.put(path, content, saved.content, today.isoformat()))
            _write(into, saved.content)
            return Mended(saved, into, path)
    except OSError as error:
        raise ChangeoverError(faults.fault(error, path)) from error


def _damaged(path: Path, content: bytes) -> Image | None:
    """Return all that stands in the file, `content`, and beside it; None where it is a sound log."""
    beside = path.with_name(f"{path.name}-wal")
    found = image(content, beside.read_bytes() if beside.exists() else b"")
    return None if _sound(found, path) else found


def _sound(found: Image, path: Path) -> bool:
    """Tell whether every row can be read and is one of ours. Raises ChangeoverError for what is sound but no log."""
    if not found.data:
        return True  # what a program leaves that was killed right after it made one
    try:
        with closing(sqlite3.connect(":memory:", isolation_level=None)) as theirs:
            theirs.deserialize(found.for_sqlite())
            theirs.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            if not _ours(theirs, path):
                return False
            whole = theirs.execute("PRAGMA integrity_check(1)").fetchone() == ("ok",)
            if not whole or theirs.execute("PRAGMA foreign_key_check").fetchone() is not None:
                return False
            migrate(theirs)
            with closing(sqlite3.connect(":memory:", isolation_level=None)) as ours:
                migrate(ours)
                union.copy(ours, theirs)
    except faults.UNREADABLE:
        return False
    return True


def _ours(theirs: sqlite3.Connection, path: Path) -> bool:
    """Tell whether a database says that it is a log of ours. Raises ChangeoverError for one of a format to come."""
    try:
        check_ours(theirs, path)
    except ChangeoverError:
        # One damaged byte can make another number of a format. Those of all formats up to it stand there too.
        (formats,) = theirs.execute("SELECT count(*) FROM migrations").fetchone()
        if version(theirs) == formats > MIGRATIONS[-1].number:
            raise
        return False
    return True


def _saved(found: Image, path: Path) -> Saved:
    saved = anew(salvage(found))
    if not saved.runs:
        raise wrong("nothing of a practice log can be read in this file", file=str(path), hint=_NOTHING)
    return saved


def _write(path: Path, content: bytes) -> None:
    """Write the new log where nothing lies yet. Raises ChangeoverError where something does, or the system refuses."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        swap.write(path, content)
    except (OSError, ValueError) as error:
        if os.path.lexists(path):
            raise wrong("is there already", file=str(path), hint="choose another name") from error
        told = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise wrong(f"cannot be written: {told.lower()}", file=str(path), hint=_NOTHING) from error
