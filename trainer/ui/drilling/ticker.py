"""The one clock of a session: a beat, a wait before go, or a scan; never more than one at a time."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from trainer.practice.effects import AskLanded, Clock, CueAfterWait, StartBeat
from trainer.practice.events import Beat, Go, Scan
from trainer.ui.drilling.scheduler import Cancel, Scheduler

if TYPE_CHECKING:
    from trainer.sound.beat import Moments

Tick: TypeAlias = Go | Beat | Scan
"""What a session's clock sends."""


def evenly(start: float, every_s: float) -> Moments:
    """Return beats that are `every_s` apart from `start` on."""
    return lambda beats: start + float(beats) * every_s


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

    def start(self, clock: Clock, moments: Moments | None = None) -> None:
        """Set the clock going in place of the one before; a beat falls at `moments` where they are given."""
        self.stop()
        now = self._now()
        match clock:
            case StartBeat():
                moments = moments or evenly(now, 60 / clock.tempo)
                self._every(moments, Fraction(1, clock.per_beat), 0, lambda at: Beat(at, clock.clock))
            case AskLanded():
                self._every(evenly(now, clock.every_s), Fraction(1), 1, lambda at: Scan(at, clock.clock))
            case CueAfterWait():
                # The cue is given by the frame that follows, so stamp it with the moment it is sent to be drawn.
                then = now + self._wait(clock.low_s, clock.high_s)
                self._cancel = self._scheduler.at(then, lambda: self._send(Go(self._now(), clock.clock)))

    def stop(self) -> None:
        """Stand still."""
        if self._cancel is not None:
            self._cancel()
            self._cancel = None

    def _every(self, moments: Moments, part: Fraction, number: int, tick: Callable[[float], Tick]) -> None:
        """Send tick `number` at its moment, then the next, a `part` of a beat on: each on its own, so none drifts."""
        moment = moments(number * part)

        def due() -> None:
            # The next one first: what this tick leads to may stop the clock.
            self._every(moments, part, number + 1, tick)
            self._send(tick(moment))

        self._cancel = self._scheduler.at(moment, due)
