"""The event loop as drilling's scheduler."""

from __future__ import annotations

import asyncio
import contextvars
from collections.abc import Callable
from typing import Any

from trainer.ui.drilling.scheduler import Cancel, on_a_thread


class LoopScheduler:
    """Runs things later on the loop it was made on, in the context it was made in: widgets find their app there."""

    def __init__(self, now: Callable[[], float], fail: Callable[[Exception], None]) -> None:
        """`now` is the clock moments are given in; `fail` is told what goes wrong in what is run."""
        self._loop = asyncio.get_running_loop()
        self._context = contextvars.copy_context()
        self._now = now
        self._fail = fail

    def at(self, moment: float, then: Callable[[], None]) -> Cancel:
        """Run `then` at `moment`."""
        delay = max(moment - self._now(), 0.0)
        return self._loop.call_later(delay, self._run, then, context=self._context).cancel

    def soon(self, then: Callable[[], None]) -> None:
        """Run `then` soon; from any thread. Without effect once the loop is closed."""
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._run, then, context=self._context)

    def aside(self, work: Callable[[], Any], then: Callable[[Any], None]) -> None:
        """Run `work` on a thread that keeps nothing waiting at the end, then `then` with what it returned."""
        on_a_thread(work, then, self.soon)

    def _run(self, then: Callable[[], None]) -> None:
        # The loop would only note an exception and go on; the app ends and shows it.
        try:
            then()
        except Exception as error:
            self._fail(error)
