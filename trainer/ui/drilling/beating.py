"""A beat without a session, before a class and in a warm-up: it sounds as a drill's does. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from trainer.practice.effects import StartBeat
from trainer.ui.drilling.sounding import Sounding
from trainer.ui.drilling.ticker import Tick, Ticker

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.sound.beat import Moments
    from trainer.ui.drilling.scheduler import Scheduler
    from trainer.ui.services import Services


class Beating:
    """The beat of one drill after another."""

    def __init__(
        self,
        services: Services,
        scheduler: Scheduler,
        ring: Callable[[], None] | None,
        say: Callable[[str], None],
        fell: Callable[[], None],
    ) -> None:
        """Stand still; `ring` and `say` as for `Sounding`, `fell` is called when a beat, or a part of one, is heard."""
        self._services, self._scheduler, self._ring, self._say, self._fell = services, scheduler, ring, say, fell
        self._ticker = Ticker(scheduler, services.clock, services.wait, self._tick)
        self._sounding: Sounding | None = None
        self._begun = 0
        self.fallen = 0
        """How many beats, or parts of one, were heard since it was begun."""

    def open(self, drill: Drill) -> None:
        """Open what the click needs, so that it is there when the beat of `drill` begins."""
        self._sounding_of(drill).start()

    def begin(self, drill: Drill, tempo: float, per_beat: int = 1) -> Moments:
        """Begin the beat of `drill` in place of the one before, and return when each beat is heard.

        `tempo` counts beats per minute; each of them falls in `per_beat` parts.
        """
        self.end()
        self._begun += 1
        clock = StartBeat(self._begun, tempo, per_beat)
        moments = self._sounding_of(drill).begin(clock)
        self._ticker.start(clock, moments)
        return moments

    def bell(self) -> None:
        """Ring for the beat that has fallen, where nothing else sounds it."""
        if self._sounding is not None:
            self._sounding.bell(True)

    def end(self) -> None:
        """End the beat."""
        self._ticker.stop()
        self.fallen = 0
        if self._sounding is not None:
            self._sounding.end()

    def close(self) -> None:
        """End the beat and let go of what was opened, aside."""
        self.end()
        if self._sounding is not None:
            self._sounding.close()

    def _sounding_of(self, drill: Drill) -> Sounding:
        if self._sounding is None:
            self._sounding = Sounding(self._services, drill, self._scheduler, self._ring, self._say)
        else:
            self._sounding.turn_to(drill)
        return self._sounding

    def _tick(self, _: Tick) -> None:
        self.fallen += 1
        self._fell()
