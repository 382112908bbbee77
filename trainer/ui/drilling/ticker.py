"""The one clock of a session: a beat, a wait before go, or a scan; never more than one at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from trainer.practice.effects import AskLanded, Clock, CueAfterWait, StartBeat
from trainer.practice.events import Beat, Go, Scan
from trainer.ui.drilling.scheduler import Cancel, Scheduler

Tick: TypeAlias = Go | Beat | Scan
"""What a session's clock sends."""


class Ticker:
    """Sends a session what its clock does."""

    def __init__(
        self,
        scheduler: Scheduler,
        now: Callable[[], float],
        wait: Callable[[float, float], float],
        send: Callable[[Tick], None],
    ) -> None:
        """Keep what it works with; `wait` draws an unpredictable wait between two bounds in seconds."""
        self._scheduler = scheduler
        self._now = now
        self._wait = wait
        self._send = send
        self._cancel: Cancel | None = None

    def start(self, clock: Clock) -> float:
        """Set the clock going in place of the one before; return since when it goes, monotonic seconds."""
        self.stop()
        now = self._now()
        match clock:
            case StartBeat():
                self._every(now, clock.every_s, 0, lambda at: Beat(at, clock.clock))
            case AskLanded():
                self._every(now, clock.every_s, 1, lambda at: Scan(at, clock.clock))
            case CueAfterWait():
                # The cue is given by the frame that follows, so stamp it with the moment it is sent to be drawn.
                then = now + self._wait(clock.low_s, clock.high_s)
                self._cancel = self._scheduler.at(then, lambda: self._send(Go(self._now(), clock.clock)))
        return now

    def stop(self) -> None:
        """Stand still."""
        if self._cancel is not None:
            self._cancel()
            self._cancel = None

    def _every(self, start: float, every_s: float, number: int, tick: Callable[[float], Tick]) -> None:
        """Send a tick at `start` + `number` times `every_s`, then the next: each on its own moment, so none drifts."""
        moment = start + number * every_s

        def due() -> None:
            # The next one first: what this tick leads to may stop the clock.
            self._every(start, every_s, number + 1, tick)
            self._send(tick(moment))

        self._cancel = self._scheduler.at(moment, due)
