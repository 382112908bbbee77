"""Working out what a screen asks, on threads of its own: the newest wish only, and how long that takes. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from trainer.ui.drilling.scheduler import Cancel, Scheduler

CALM_S = 0.2
"""How long what is asked must stay the same before work begins: a key that is held down asks for nothing."""
_AT_ONCE = 2
"""Works that may run at a time: a long one that nobody waits for any more cannot be ended, but is passed by."""


class Asking(Protocol):
    """A wish, or what came of one."""

    @property
    def asked(self) -> object:
        """What is asked for; a wish and its outcome are equal in it."""


_Wish = TypeVar("_Wish", bound=Asking)
_Found = TypeVar("_Found", bound=Asking)


class WorkingOut(Generic[_Wish, _Found]):
    """Takes wishes and hands back what came of the newest."""

    def __init__(
        self,
        scheduler: Scheduler,
        clock: Callable[[], float],
        work: Callable[[_Wish], _Found],
        show: Callable[[_Found], None],
    ) -> None:
        """`work` runs on a thread; `show` is told, on the loop, what came of the newest wish."""
        self._scheduler = scheduler
        self._clock = clock
        self._work = work
        self._show = show
        self._wanted: _Wish | None = None
        self._begun: object | None = None
        self._due: Cancel | None = None
        self._running = 0
        self._since = 0.0

    @property
    def waited(self) -> float | None:
        """Seconds since what is asked was asked; None where it is answered."""
        return None if self._wanted is None else self._clock() - self._since

    def ask(self, wish: _Wish) -> None:
        """Ask for this and for nothing else."""
        self._call_off()
        self._wanted, self._begun, self._since = wish, None, self._clock()
        self._due = self._scheduler.at(self._since + CALM_S, self._begin)

    def leave(self) -> None:
        """Wait for nothing any more."""
        self._call_off()
        self._wanted = None

    def _call_off(self) -> None:
        if self._due is not None:
            self._due()
            self._due = None

    def _begin(self) -> None:
        self._due = None
        wish = self._wanted
        if wish is None or self._running >= _AT_ONCE or self._begun == wish.asked:
            return
        self._running += 1
        self._begun = wish.asked
        self._scheduler.aside(lambda: self._work(wish), self._done)

    def _done(self, found: _Found) -> None:
        self._running -= 1
        if self._wanted is None:
            return
        if found.asked == self._wanted.asked:
            self._call_off()
            self._wanted = None
            self._show(found)
        elif self._due is None:
            self._begin()
