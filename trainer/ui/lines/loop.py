"""An event loop for a plain console: what is due runs at its moment, what other threads hand over runs soon."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from typing import Any

from trainer.ui.drilling.scheduler import Cancel, on_a_thread

_AWAKE_S = 0.5
"""The longest single wait: some systems cannot be interrupted while they wait."""


@dataclass(order=True, slots=True)
class _Due:
    moment: float
    number: int
    then: Callable[[], None] | None = field(compare=False)


class LineLoop:
    """Runs things later, all on the thread that calls `run`."""

    def __init__(self, now: Callable[[], float]) -> None:
        """`now` is the clock that moments are given in."""
        self._now = now
        self._due: list[_Due] = []
        self._number = 0
        self._handed_over: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self._ended = False

    def at(self, moment: float, then: Callable[[], None]) -> Cancel:
        """Run `then` at `moment`, as soon as possible where that is past."""
        self._number += 1
        due = _Due(moment, self._number, then)
        heapq.heappush(self._due, due)

        def cancel() -> None:
            due.then = None

        return cancel

    def soon(self, then: Callable[[], None]) -> None:
        """Run `then` soon; may be called from any thread."""
        self._handed_over.put(then)

    def aside(self, work: Callable[[], Any], then: Callable[[Any], None]) -> None:
        """Run `work` on another thread, which keeps nothing waiting at the end, then `then` with what it returned."""
        on_a_thread(work, then, self.soon)

    def run(self) -> None:
        """Run what comes until `end` is called; what goes wrong in it is raised here."""
        while not self._ended:
            self._run_due()
            if self._ended:
                return
            try:
                then = self._handed_over.get(timeout=self._pause())
            except Empty:
                continue
            then()

    def turn(self) -> None:
        """Run what is due by now and what has been handed over, and wait for nothing."""
        self._run_due()
        while not self._handed_over.empty():
            self._handed_over.get()()
            self._run_due()

    def end(self) -> None:
        """Have `run` return once what runs now is done."""
        self._ended = True

    def _run_due(self) -> None:
        while self._due and self._due[0].moment <= self._now() and not self._ended:
            then = heapq.heappop(self._due).then
            if then is not None:
                then()

    def _pause(self) -> float:
        if not self._due:
            return _AWAKE_S
        return min(max(self._due[0].moment - self._now(), 0.0), _AWAKE_S)
