"""The clock a run goes by: the ticker, what lets the beat be heard, and the guitar that is measured by it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from trainer.practice import effects
from trainer.practice.state import Session
from trainer.ui.drilling.listening import Listening
from trainer.ui.drilling.ports import Ports
from trainer.ui.drilling.ticker import Tick, Ticker, evenly

if TYPE_CHECKING:
    from trainer.sound.beat import Moments


class Pacing:
    """At most one clock at a time. The guitar, where one is listened to, is told of every beat that it is graded by."""

    def __init__(self, ports: Ports, send: Callable[[Tick], None]) -> None:
        """`send` takes what the clock brings."""
        self._ports = ports
        self._ticker = Ticker(ports.scheduler, ports.now, ports.wait, send)
        self._moments: Moments | None = None

    def start(self, clock: effects.Clock, session: Session, listening: Listening | None) -> None:
        """Start the clock that `session` asks for."""
        if not isinstance(clock, effects.StartBeat):
            self._ticker.start(clock)
            return
        click = self._ports.click
        moments = evenly(self._ports.now(), 60 / clock.tempo) if click is None else click.begin(clock)
        self._ticker.start(clock, moments)
        self._moments = moments
        if listening is not None:
            listening.pace(*_grid(moments, session), session.pair[0])

    def keep(self, session: Session, listening: Listening | None) -> None:
        """Grade by when the beat is really heard, where that shows only while it runs; once a shape is enough."""
        if self._moments is None or not session.accented:
            return
        if listening is not None and self._ports.click is not None:
            listening.keep_pace(*_grid(self._moments, session))

    def stop(self, listening: Listening | None) -> None:
        """Stop the clock; from here on nothing is graded by a beat."""
        self._ticker.stop()
        if self._moments is not None and self._ports.click is not None:
            self._ports.click.end()
        self._moments = None
        if listening is not None:
            listening.at_ease()


def _grid(moments: Moments, session: Session) -> tuple[float, float]:
    """Return when the first shape begins and how long a beat lasts, as far as is known now."""
    bar, beats = session.course.bar, max(session.elapsed, Fraction(1))
    first = moments(Fraction(bar))
    return first, (moments(bar + beats) - first) / float(beats)
