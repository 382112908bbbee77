"""What a conductor reaches the world through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from trainer.practice.clock import Reading
from trainer.practice.effects import StartBeat
from trainer.ui.drilling.guard import read_clocks
from trainer.ui.drilling.scheduler import Scheduler

if TYPE_CHECKING:
    from trainer.sound.beat import Moments


class Click(Protocol):
    """What lets the beat be heard."""

    def begin(self, beat: StartBeat) -> Moments:
        """Begin, and return when each beat is heard."""

    def end(self) -> None:
        """End."""


@dataclass(frozen=True, slots=True)
class Ports:
    """What a conductor reaches the world through."""

    scheduler: Scheduler
    """Runs things later."""
    now: Callable[[], float]
    """Monotonic seconds, the clock that keys are stamped with."""
    wait: Callable[[float, float], float]
    """Draws an unpredictable wait between two bounds in seconds."""
    bell: Callable[[bool], None]
    """Rings; True on an accent."""
    show: Callable[[], None]
    """Called when there is something new to show."""
    clocks: Callable[[], Reading] = read_clocks
    """Reads every clock there is."""
    click: Click | None = None
    """What lets the beat be heard; None: nothing does, and it falls by the program's own clock."""
