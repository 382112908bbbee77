"""What an ear took in, in order: everything that a take must hold to be graded again with the same result.

Moments are seconds from the start of the take, on a grid that a Standard MIDI File can hold exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from trainer.listen.matcher.settings import Grid

TICKS_PER_S = 50_000
"""The grid: 20 µs, a sixteenth of the time that one byte takes on a MIDI line."""


def on_grid(seconds: float) -> float:
    """Return the moment of the grid that is nearest to `seconds`."""
    return round(seconds * TICKS_PER_S) / TICKS_PER_S


@dataclass(frozen=True, slots=True)
class Message:
    """A channel message, or a system reset."""

    at: float
    """When it arrived; no latency is taken off yet."""
    data: bytes
    """The whole message, status byte first."""


@dataclass(frozen=True, slots=True)
class Waited:
    """Time went by. Kept only where an event came later than the slack allows, so that it was decided without it."""

    at: float
    """Until when."""


@dataclass(frozen=True, slots=True)
class Expected:
    """From here on a step of the drill was expected, whatever was played before."""

    at: float
    """Since when."""
    step: int
    """Index of the step."""


@dataclass(frozen=True, slots=True)
class Paced:
    """From here on the playing was in tempo, or no longer."""

    at: float
    """Since when."""
    grid: Grid | None
    """The beats; None: out of tempo."""


@dataclass(frozen=True, slots=True)
class Broke:
    """The port was lost: what sounded was not told to end."""

    at: float
    """When it was noticed."""


Entry: TypeAlias = Message | Waited | Expected | Paced | Broke
"""One thing that an ear took in."""
