"""What is written down of practice: one timed change, one run of changes. Values only; the log stores them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trainer.practice.measures import Measures


WARM_UP = "warm-up"
"""The remark that tells a run of a warm-up: nothing in it was timed."""


class Timing(StrEnum):
    """How a change was timed. Times taken in different ways are never pooled."""

    LEAVE = "leave"
    """Two presses: one on leaving the old shape, one on landing the new."""
    CUE = "cue"
    """The program says go after an unpredictable wait; one press says landed."""
    BEAT = "beat"
    """Paced by the beat; afterwards the player says how many landed."""
    HEARD = "heard"
    """Measured from notes over MIDI."""


class Texture(StrEnum):
    """How the notes of a shape are struck."""

    BLOCK = "block"
    """Together."""
    ROLLED = "rolled"
    """In quick succession."""
    FIGURE = "figure"
    """On written beats of their own (an arpeggiated texture)."""


class How(StrEnum):
    """Where a shape came from when it was played."""

    READ = "read"
    """It was in sight."""
    RECALLED = "recalled"
    """It came from memory."""


@dataclass(frozen=True, slots=True)
class Series:
    """What makes two times comparable: only attempts that agree in all of this are ever pooled."""

    change: str
    """As in `Attempt`."""
    timing: Timing
    """As in `Attempt`."""
    source: str
    """As in `Attempt`: a pedal and a key are not pressed equally fast."""
    tempo: float | None = None
    """As in `Attempt`."""
    texture: Texture = Texture.BLOCK
    """As in `Attempt`."""
    how: How = How.READ
    """As in `Attempt`: what takes remembering takes longer."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """One change that was played and landed. Raises ValueError where a time or tempo is not a finite number."""

    id: str
    """Unique text (a UUID), so that two logs can be merged without doubles."""
    run: str
    """Id of the run it belongs to."""
    change: str
    """What was played: tuning, capo and both shapes with fingers (`practice.drill.change_key`)."""
    at: float
    """When it landed: seconds since 1970-01-01 UTC."""
    timing: Timing
    """How it was timed."""
    source: str
    """Where the events came from: `keys`, `pedal`, `browser`, or the name of a MIDI port."""
    change_ms: float | None
    """Change time in milliseconds; None where it was not measured (paced)."""
    clean: bool | None = None
    """What the player or the matcher said of it; None until somebody said so."""
    tempo: float | None = None
    """Beats per minute it was played at; None out of tempo."""
    texture: Texture = Texture.BLOCK
    """How the shape was struck."""
    how: How = How.READ
    """Whether the shape that was reached had been in sight."""
    measures: Measures | None = None
    """What else was heard of it; None where nothing listened."""

    def __post_init__(self) -> None:
        # A database turns NaN into "unknown" and JSON has no word for infinity, so both stop here.
        for number in (self.at, self.change_ms, self.tempo):
            if number is not None and not math.isfinite(number):
                raise ValueError(f"not a finite number: {number}")

    @property
    def series(self) -> Series:
        """What this attempt may be compared with."""
        return Series(self.change, self.timing, self.source, self.tempo, self.texture, self.how)


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of practice on one drill, from its first change to its end."""

    id: str
    """Unique text (a UUID)."""
    drill: str
    """The drill's title as it was then; a label only, nothing hangs on it."""
    at: float
    """When it began: seconds since 1970-01-01 UTC."""
    timing: Timing
    """How its changes were timed."""
    tempo: float | None = None
    """Beats per minute; None out of tempo."""
    asked: int | None = None
    """Paced or heard: how many changes were asked for."""
    landed: int | None = None
    """How many of them landed: paced, as the player says; heard, as was heard."""
    remark: str | None = None
    """One line the player left."""
    how: How = How.READ
    """Recalled where any of its shapes had not been in sight."""
