"""Entries one by one into the file; what cannot be written while another program holds it waits in memory."""

from __future__ import annotations

import sqlite3
import time
from collections import deque
from typing import TYPE_CHECKING, TypeAlias, TypeVar

from trainer.errors import Problem
from trainer.log import connect, faults
from trainer.log.migrations import transaction

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

Entry: TypeAlias = "Callable[[sqlite3.Connection], None]"
"""Writes one entry; safe to run again where it did not come to its end."""
_T = TypeVar("_T")

MOST_WAITING = 10_000
"""Entries that wait in memory, some 20 MB: a day of practice. Further ones are refused, each with a word."""
_RETRY_S = 0.01
"""Pause before a busy log is asked again, as long as an entry is patient."""
_TRY_AGAIN_S = 0.5
"""Pause between tries once patience has run out and entries wait in memory."""
_CHECKPOINT_EVERY = 256
"""Commits (about 5 MB) after which the write-ahead log is moved into the main file as soon as nobody waits. The next
commit then begins the log anew and waits once for the disk, so not too often."""
_CHECKPOINT_AT_LATEST = 1024
"""Commits after which it is moved even though somebody waits."""


class Keeper:
    """Owns the connection. Everything but `hurry` belongs to one thread; nothing raises.

    Three states: it keeps entries (`problem` is None); another program holds the log and entries wait in memory; or the
    log is of no use, and nothing is kept.
    """

    def __init__(self, path: Path, patience_s: float, on_problem: Callable[[Problem | None], None] | None) -> None:
        """Open nothing yet. `patience_s` and `on_problem` are those of `Log.open`."""
        self.problem: Problem | None = None
        """Why entries are not written as they come; None as long as they are."""
        self._path = path
        self._patience_s = patience_s
        self._on_problem = on_problem
        self._connection: sqlite3.Connection | None = None
        self._waiting: deque[Entry] = deque()
        self._held_up = False
        self._try_at = 0.0
        self._give_up_at = float("inf")
        self._commits = 0

    def hurry(self, within_s: float) -> None:
        """Wait for another program no longer than `within_s` from now on; any thread may say so."""
        self._give_up_at = time.monotonic() + within_s

    def open(self) -> None:
        """Open the log; where that cannot be done, `problem` says why."""
        try:
            self._patiently(self._opened)
        except Exception as error:  # whatever it is, practice goes on
            self._fail(error)

    def take(self, entry: Entry) -> Problem | None:
        """Return None once `entry` is committed, else why it is not, or not yet."""
        if self._held_up and time.monotonic() >= self._try_at:
            self.catch_up()
        if self._held_up:
            return self._put_by(entry)
        if self.problem is not None:
            return self.problem
        try:
            return self._patiently(lambda: self._written(entry))
        except Exception as error:  # as above
            self._fail(error)
            return self._put_by(entry) if self._held_up else self.problem

    @property
    def pause_s(self) -> float | None:
        """Seconds until `catch_up` is worth another try; None where there is nothing to catch up with."""
        return max(self._try_at - time.monotonic(), 0.0) if self._held_up else None

    def catch_up(self) -> None:
        """Write what waits in memory if the other program has let go."""
        if not self._held_up:
            return
        try:
            self._opened()
            while self._waiting:
                refused = self._written(self._waiting[0])
                self._waiting.popleft()
                if refused is not None:
                    self._tell(refused)
        except Exception as error:  # as above
            self._fail(error)
            return
        self._held_up = False
        self.problem = None
        self._tell(None)

    def tidy(self, *, at_rest: bool) -> None:
        """Move commits into the main file where there are enough of them; `at_rest`: nobody waits for an entry."""
        if self._connection is None or self.problem is not None:
            return
        if self._commits < (_CHECKPOINT_EVERY if at_rest else _CHECKPOINT_AT_LATEST):
            return
        self._commits = 0
        try:
            self._connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        except sqlite3.Error as error:
            self._fail(error)

    def close(self) -> None:
        """Try to write what waits until there is no more time, say what is lost, and let go of the file."""
        while self._held_up:
            self.catch_up()
            if time.monotonic() > self._give_up_at:
                break
            time.sleep(_RETRY_S)
        if self._waiting:
            self._stop(faults.lost(len(self._waiting), self._path))
        if self._connection is not None:
            self._connection.close()

    def _opened(self) -> None:
        if self._connection is None:
            self._connection = connect.for_writing(self._path)

    def _written(self, entry: Entry) -> Problem | None:
        """Return None once `entry` is committed, else what is wrong with it. Raises what is wrong with the log."""
        connection = self._connection
        assert connection is not None  # noqa: S101  # there is one wherever there is no problem
        try:
            with transaction(connection):
                entry(connection)
        except UnicodeDecodeError:
            raise  # a damaged file, though it is a ValueError
        except (ValueError, OverflowError, sqlite3.IntegrityError) as error:
            return Problem(f"an entry does not fit the practice log: {error}", file=str(self._path), warning=True)
        self._commits += 1
        return None

    def _patiently(self, work: Callable[[], _T]) -> _T:
        """Return what `work` returns; while another program holds the log, try again until patience runs out."""
        patient_until = time.monotonic() + self._patience_s
        while True:
            try:
                return work()
            except sqlite3.OperationalError as error:
                if not faults.is_busy(error) or time.monotonic() > min(patient_until, self._give_up_at):
                    raise
            time.sleep(_RETRY_S)

    def _put_by(self, entry: Entry) -> Problem | None:
        if len(self._waiting) >= MOST_WAITING:
            return faults.too_much(MOST_WAITING, self._path)
        self._waiting.append(entry)
        return self.problem

    def _fail(self, error: Exception) -> None:
        """Go over to waiting where that may help, else stop; what waited is lost then, and that is said."""
        if faults.is_busy(error):
            self._try_at = time.monotonic() + _TRY_AGAIN_S
            if not self._held_up:
                self._held_up = True
                self.problem = faults.put_by(self._path)
                self._tell(self.problem)
        else:
            self._stop(faults.unkept(faults.fault(error, self._path)))

    def _stop(self, problem: Problem) -> None:
        self._held_up = False
        self._waiting.clear()
        self.problem = problem
        self._tell(problem)

    def _tell(self, problem: Problem | None) -> None:
        if self._on_problem is not None:
            self._on_problem(problem)
