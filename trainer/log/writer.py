"""The log as a practice screen sees it: hand an entry over, get a receipt, go on playing."""

from __future__ import annotations

import sqlite3
import time
from concurrent.futures import Future
from dataclasses import dataclass
from functools import partial
from queue import SimpleQueue
from threading import Lock, Thread
from typing import TYPE_CHECKING, Self, TypeAlias, TypeVar

from trainer.errors import Problem
from trainer.log import connect, faults, store
from trainer.log.migrations import transaction

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from trainer.practice.measures import Measures
    from trainer.practice.record import Attempt, Run

Receipt: TypeAlias = "Future[Problem | None]"
"""Answered once: None when the entry is committed, else why it is not. Never raises, cannot be cancelled."""

_Entry: TypeAlias = "Callable[[sqlite3.Connection], None]"
_T = TypeVar("_T")

_RETRY_S = 0.01
"""Pause before a busy log is asked again."""
_CLOSE_S = 0.5
"""How much longer a closing log waits for one that is locked."""
_CHECKPOINT_EVERY = 256
"""Commits (about 5 MB) after which the write-ahead log is moved into the main file as soon as nobody waits. The next
commit then begins the log anew and waits once for the disk, so not too often."""
_CHECKPOINT_AT_LATEST = 1024
"""Commits after which it is moved even though somebody waits."""


@dataclass(frozen=True, slots=True)
class _Job:
    """One entry on its way to the writer."""

    entry: _Entry
    receipt: Receipt


class Log:
    """The practice log at one path. One thread owns the connection and writes entries in the order they came.

    Nothing here raises or waits: a log that cannot be used answers every receipt with its `problem` and keeps nothing.
    """

    def __init__(self, path: Path, patience_s: float, on_problem: Callable[[Problem], None] | None) -> None:
        """Start the writer; use `Log.open`."""
        self.path = path
        self.ready: Receipt = _receipt()
        """Answered when the log is open, or with the problem when it cannot be used."""
        self.problem: Problem | None = None
        """Why nothing is kept any more; None as long as entries are."""
        self._on_problem = on_problem
        self._patience_s = patience_s
        self._give_up_at = float("inf")
        self._jobs: SimpleQueue[_Job | None] = SimpleQueue()
        self._closed = False
        self._handing_over = Lock()
        # A daemon, so that a screen that died without closing the log does not keep the process alive.
        self._thread = Thread(target=self._write, name="practice log", daemon=True)
        self._thread.start()

    @classmethod
    def open(cls, path: Path, *, patience_s: float = 5.0, on_problem: Callable[[Problem], None] | None = None) -> Self:
        """Return the log at `path`, opened in the background; entries may be handed over at once.

        `patience_s` is how long an entry waits for another program that holds the log. `on_problem` is called at most
        once, from the writer's thread, when the log stops keeping entries.
        """
        return cls(path, patience_s, on_problem)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def begin(self, run: Run) -> Receipt:
        """Write down that `run` has begun; its attempts come after it."""
        return self._hand_over(partial(store.begin, run=run))

    def add(self, attempt: Attempt) -> Receipt:
        """Write down a landed change with its measures. Show it as landed when the receipt is answered with None."""
        return self._hand_over(partial(store.add, attempt=attempt))

    def mark(self, attempt: str, *, clean: bool | None) -> Receipt:
        """Write down what was said of the change with id `attempt`."""
        return self._hand_over(partial(store.mark, attempt=attempt, clean=clean))

    def measure(self, attempt: str, measures: Measures, clean: bool | None) -> Receipt:
        """Write down what was heard of the change with id `attempt`, in place of what was said and heard before."""
        return self._hand_over(partial(store.measure, attempt=attempt, measures=measures, clean=clean))

    def take_back(self, attempt: str) -> Receipt:
        """Remove the change with id `attempt`."""
        return self._hand_over(partial(store.take_back, attempt=attempt))

    def finish(
        self, run: str, *, asked: int | None = None, landed: int | None = None, remark: str | None = None
    ) -> Receipt:
        """Write down how the run with id `run` ended."""
        return self._hand_over(partial(store.finish, run=run, asked=asked, landed=landed, remark=remark))

    def close(self) -> None:
        """Commit what was handed over, then let go of the file. Calling it again does nothing."""
        with self._handing_over:
            if not self._closed:
                self._closed = True
                self._give_up_at = time.monotonic() + _CLOSE_S
                self._jobs.put(None)
        self._thread.join()

    def _hand_over(self, entry: _Entry) -> Receipt:
        job = _Job(entry, _receipt())
        with self._handing_over:
            if self._closed:
                job.receipt.set_result(Problem("the practice log is closed", file=str(self.path)))
            else:
                self._jobs.put(job)
        return job.receipt

    def _write(self) -> None:
        """Run the writer's thread: open, then one transaction for each entry until the log is closed."""
        connection = self._opened()
        self.ready.set_result(self.problem)
        waiting = 0
        while (job := self._jobs.get()) is not None:
            job.receipt.set_result(self.problem or self._written(connection, job.entry))
            waiting += 1
            if waiting >= _CHECKPOINT_AT_LATEST or (waiting >= _CHECKPOINT_EVERY and self._jobs.empty()):
                self._checkpoint(connection)
                waiting = 0
        if connection is not None:
            connection.close()

    def _opened(self) -> sqlite3.Connection | None:
        try:
            return self._patiently(lambda: connect.for_writing(self.path))
        except Exception as error:  # whatever it is, practice goes on and every receipt is answered
            self._stop_keeping(error)
            return None

    def _written(self, connection: sqlite3.Connection | None, entry: _Entry) -> Problem | None:
        """Return None once `entry` is committed, else what was wrong with it or with the log."""

        def once() -> None:
            assert connection is not None  # noqa: S101  # there is one wherever there is no problem
            with transaction(connection):
                entry(connection)

        try:
            self._patiently(once)
        except UnicodeDecodeError as error:
            return self._stop_keeping(error)
        except (ValueError, OverflowError, sqlite3.IntegrityError) as error:
            return Problem(f"an entry does not fit the practice log: {error}", file=str(self.path), warning=True)
        except Exception as error:  # as above
            return self._stop_keeping(error)
        return None

    def _patiently(self, work: Callable[[], _T]) -> _T:
        """Return what `work` returns; while another program holds the log, try again until patience runs out."""
        give_up_at = time.monotonic() + self._patience_s
        while True:
            try:
                return work()
            except sqlite3.OperationalError as error:
                if not faults.is_busy(error) or time.monotonic() > min(give_up_at, self._give_up_at):
                    raise
            time.sleep(_RETRY_S)

    def _checkpoint(self, connection: sqlite3.Connection | None) -> None:
        if connection is None or self.problem is not None:
            return
        try:
            connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        except sqlite3.Error as error:
            self._stop_keeping(error)

    def _stop_keeping(self, error: Exception) -> Problem:
        self.problem = faults.unkept(faults.fault(error, self.path))
        if self._on_problem is not None:
            self._on_problem(self.problem)
        return self.problem


def _receipt() -> Receipt:
    """Return a receipt that is past cancelling: who no longer waits for an entry still wants it kept."""
    receipt: Receipt = Future()
    receipt.set_running_or_notify_cancel()
    return receipt
