"""The logs of a class's seats: a round into each, one taken home as a file, the rounds that stand in one."""

from __future__ import annotations

import sqlite3
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.log import connect, faults, store
from trainer.log.migrations import transaction
from trainer.log.rows import COUNT, MAYBE_COUNT, MAYBE_REAL, REAL, TEXT, Shape, sound

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from trainer.errors import Problem
    from trainer.practice.marked import Marked

_PATIENCE_S = 1.0
"""How long another program may hold a seat's log, the app in that seat's browser for one, while a round is written."""
_RETRY_S = 0.01
_AT_ONCE = 8
"""Logs written at the same time: most of what a round takes is waiting for the disk."""
# Only rounds leave attempts to the beat: a player alone says afterwards how many landed, and not which.
_ROUNDS = """
    SELECT drill, at, tempo, asked, landed FROM runs
    WHERE n IN (SELECT a.run FROM attempts AS a JOIN series AS s ON s.n = a.series WHERE s.timing = 'beat')
    ORDER BY at, n"""
_ROUND: Shape = (TEXT, REAL, MAYBE_REAL, COUNT, MAYBE_COUNT)


@dataclass(frozen=True, slots=True)
class Played:
    """A round as a seat's log tells it."""

    drill: str
    """The drill's title as it was then."""
    at: float
    """When it began: seconds since 1970-01-01 UTC."""
    tempo: float | None
    """Beats per minute."""
    asked: int
    """How many changes it had."""
    landed: int | None
    """How many of them were had; None: not all of them."""

    @property
    def had(self) -> bool:
        """Whether the whole round was had."""
        return self.landed == self.asked


def record_round(path: Path, entry: Marked) -> None:
    """Write a round into the seat's log at `path`, all of it or nothing; the log is made where there is none.

    Raises ChangeoverError where it cannot be written.
    """
    until = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return _write(path, entry)
        except (*faults.UNREADABLE, OSError) as error:
            if not faults.is_busy(error) or time.monotonic() > until:
                raise ChangeoverError(faults.fault(error, path)) from error
        time.sleep(_RETRY_S)


def _write(path: Path, entry: Marked) -> None:
    with closing(connect.for_writing(path)) as connection, transaction(connection):
        store.begin(connection, entry.run)
        for attempt in entry.attempts:
            store.add(connection, attempt)


def record_rounds(entries: Sequence[tuple[Path, Marked]]) -> list[Problem | None]:
    """Write a round into the log of each seat; return for each in turn why it was not written, None where it was."""
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        return list(pool.map(_recorded, entries))


def _recorded(entry: tuple[Path, Marked]) -> Problem | None:
    try:
        record_round(*entry)
    except ChangeoverError as error:
        return error.problems[0]
    return None


def rounds(connection: sqlite3.Connection) -> list[Played]:
    """Return the rounds that stand in a seat's log, oldest first."""
    return [Played(*sound(row, _ROUND)) for row in connection.execute(_ROUNDS)]


def whole(path: Path) -> bytes:
    """Return the whole log at `path` as one file, in the newest format and without what was deleted from it.

    Raises ChangeoverError where it cannot be read.
    """
    try:
        with closing(connect.for_reading(path)) as source, closing(sqlite3.connect(":memory:")) as copy:
            source.backup(copy)
            copy.execute("VACUUM")
            return copy.serialize()
    except (*faults.UNREADABLE, OSError) as error:
        raise ChangeoverError(faults.fault(error, path)) from error
