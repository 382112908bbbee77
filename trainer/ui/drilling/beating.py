"""A beat without a session: it sounds as a drill's does, and is counted when it is heard. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from trainer.practice.effects import StartBeat
from trainer.ui.drilling.sounding import Sounding
from trainer.ui.drilling.ticker import Tick, Ticker

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
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
        show: Callable[[], None],
    ) -> None:
        """Stand still; `ring` and `say` as for `Sounding`, `show` is called on every beat."""
        self._services, self._scheduler, self._ring, self._say, self._show = services, scheduler, ring, say, show
        self._ticker = Ticker(scheduler, services.clock, services.wait, self._tick)
        self._sounding: Sounding | None = None
        self._ticks = self._begun = 0

    @property
    def beat(self) -> int:
        """The number of the beat that was heard last, from 0; 0 before the first."""
        return max(self._ticks - 1, 0)

    def begin(self, drill: Drill, tempo: float) -> None:
        """Begin the beat of `drill` at so many beats per minute, in place of the one before."""
        self.end()
        if self._sounding is None:
            self._sounding = Sounding(self._services, drill, self._scheduler, self._ring, self._say)
        else:
            self._sounding.turn_to(drill)
        self._begun += 1
        clock = StartBeat(self._begun, tempo, 1)
        self._ticker.start(clock, self._sounding.begin(clock))

    def end(self) -> None:
        """End the beat."""
        self._ticker.stop()
        self._ticks = 0
        if self._sounding is not None:
            self._sounding.end()

    def close(self) -> None:
        """End the beat and let go of what was opened, aside."""
        self.end()
        if self._sounding is not None:
            self._sounding.close()

    def _tick(self, _: Tick) -> None:
        assert self._sounding is not None  # noqa: S101  # nothing ticks that was not begun
        self._sounding.bell(self._ticks == 0)
        self._ticks += 1
        self._show()
