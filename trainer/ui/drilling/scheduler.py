"""What is needed of an event loop, as a protocol, so that tests may turn the clock by hand. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import Any, Protocol, TypeAlias

Cancel: TypeAlias = Callable[[], None]
"""Calls off what was scheduled; without effect once it has run."""


class Scheduler(Protocol):
    """Runs things later, always on the loop's own thread."""

    def at(self, moment: float, then: Callable[[], None]) -> Cancel:
        """Run `then` at `moment` in monotonic seconds, as soon as possible where that is past."""

    def soon(self, then: Callable[[], None]) -> None:
        """Run `then` soon; may be called from any thread."""

    def aside(self, work: Callable[[], Any], then: Callable[[Any], None]) -> None:
        """Run `work` on another thread, then `then` with what it returned."""


def on_a_thread(
    work: Callable[[], Any], then: Callable[[Any], None], soon: Callable[[Callable[[], None]], None]
) -> None:
    """Run `work` on a thread that keeps nothing waiting at the end; `soon` has `then` run with what it returned."""

    def run() -> None:
        result = work()
        soon(lambda: then(result))

    Thread(target=run, name="aside", daemon=True).start()
