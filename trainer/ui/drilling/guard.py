"""Watches that the clocks run on undisturbed while a change is timed."""

from __future__ import annotations

import time
from collections.abc import Callable

from trainer.practice.clock import Interruption, Reading, interruption
from trainer.ui.drilling.scheduler import Cancel, Scheduler

EVERY_S = 0.25
"""Time between two readings, well within `clock.LONGEST_GAP_S`."""


def read_clocks() -> Reading:
    """Return what the machine's clocks show now."""
    boottime = getattr(time, "CLOCK_BOOTTIME", None)
    return Reading(time.monotonic(), None if boottime is None else time.clock_gettime(boottime))


class Guard:
    """Takes readings several times a second while it is on, and tells when they do not fit together."""

    def __init__(
        self, scheduler: Scheduler, read: Callable[[], Reading], tell: Callable[[Interruption, float], None]
    ) -> None:
        """`tell` is called with what happened and the moment it was found, in monotonic seconds."""
        self._scheduler = scheduler
        self._read = read
        self._tell = tell
        self._last: Reading | None = None
        self._cancel: Cancel | None = None

    def watch(self, on: bool) -> None:
        """Begin to watch, or stop; beginning again changes nothing."""
        if on and self._last is None:
            self._last = self._read()
            self._next(self._last.monotonic)
        elif not on and self._last is not None:
            self._last = None
            if self._cancel is not None:
                self._cancel()

    def check(self) -> Interruption | None:
        """Take a reading now and return what has happened since the one before; None where it does not watch."""
        if self._last is None:
            return None
        now = self._read()
        found = interruption((self._last, now))
        self._last = now
        return found

    def _next(self, now: float) -> None:
        self._cancel = self._scheduler.at(now + EVERY_S, self._due)

    def _due(self) -> None:
        found = self.check()
        if self._last is not None:
            now = self._last.monotonic
            self._next(now)
            if found is not None:
                self._tell(found, now)
