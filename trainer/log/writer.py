"""The log as a practice screen sees it: hand an entry over, get a receipt, go on playing."""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import dataclass
from functools import partial
from queue import Empty, SimpleQueue
from threading import Lock, Thread
from typing import TYPE_CHECKING, Self, TypeAlias

from trainer.errors import Problem
from trainer.log import store
from trainer.log.keeper import Keeper

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from trainer.log.keeper import Entry
    from trainer.practice.measures import Measures
    from trainer.practice.record import Attempt, Run

Receipt: TypeAlias = "Future[Problem | None]"
"""Answered once: None when the entry is committed, else why it is not, or not yet where it waits in memory for another
program to let go of the log. Never raises, cannot be cancelled."""

_CLOSE_S = 0.5
"""How much longer a closing log waits for one that is locked."""


@dataclass(frozen=True, slots=True)
class _Job:
    """One entry on its way to the writer."""

    entry: Entry
    receipt: Receipt


class Log:
    """The practice log at one path. One thread owns the connection and writes entries in the order they came.

    Nothing here raises or waits: a log that cannot be used answers every receipt with its `problem` and keeps nothing.
    While another program holds the log longer than an entry is patient, entries wait in memory, at most
    `keeper.MOST_WAITING` of them, and are written in their order as soon as it lets go.
    """

    def __init__(self, path: Path, patience_s: float, on_problem: Callable[[Problem | None], None] | None) -> None:
        """Start the writer; use `Log.open`."""
        self.path = path
        self.ready: Receipt = _receipt()
        """Answered when the log is open, or with the problem when it cannot be used."""
        self._keeper = Keeper(path, patience_s, on_problem)
        self._jobs: SimpleQueue[_Job | None] = SimpleQueue()
        self._closed = False
        self._handing_over = Lock()
        # A daemon, so that a screen that died without closing the log does not keep the process alive.
        self._thread = Thread(target=self._write, name="practice log", daemon=True)
        self._thread.start()

    @property
    def problem(self) -> Problem | None:
        """Why entries are not written as they come, or at the end that some were lost; None as long as all is well."""
        return self._keeper.problem

    @classmethod
    def open(
        cls, path: Path, *, patience_s: float = 5.0, on_problem: Callable[[Problem | None], None] | None = None
    ) -> Self:
        """Return the log at `path`, opened in the background; entries may be handed over at once.

        `patience_s` is how long an entry waits for another program that holds the log before its receipt is answered.
        `on_problem` is called from the writer's thread when the log stops keeping entries, when they begin to wait in
        memory, with None when all of them are written, and for one that is refused only then.
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
        """Commit what was handed over and let go of the file; `problem` says what was lost. Once more does nothing."""
        with self._handing_over:
            if not self._closed:
                self._closed = True
                self._keeper.hurry(_CLOSE_S)
                self._jobs.put(None)
        self._thread.join()

    def _hand_over(self, entry: Entry) -> Receipt:
        job = _Job(entry, _receipt())
        with self._handing_over:
            if self._closed:
                job.receipt.set_result(Problem("the practice log is closed", file=str(self.path)))
            else:
                self._jobs.put(job)
        return job.receipt

    def _write(self) -> None:
        """Run the writer's thread: open, then one transaction for each entry until the log is closed."""
        keeper = self._keeper
        keeper.open()
        self.ready.set_result(keeper.problem)
        while True:
            try:
                job = self._jobs.get(timeout=keeper.pause_s)
            except Empty:
                keeper.catch_up()
                continue
            if job is None:
                break
            job.receipt.set_result(keeper.take(job.entry))
            keeper.tidy(at_rest=self._jobs.empty())
        keeper.close()


def _receipt() -> Receipt:
    """Return a receipt that is past cancelling: who no longer waits for an entry still wants it kept."""
    receipt: Receipt = Future()
    receipt.set_running_or_notify_cancel()
    return receipt
