"""What a session asks its runner to do. Values only; the runner owns the clock, the dice, the log and the bell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from trainer.practice.course import Leg, Pair
from trainer.practice.measures import HeardChange
from trainer.practice.record import Timing


@dataclass(frozen=True, slots=True)
class Timed:
    """A change has landed: log it."""

    number: int
    """What `Unlog` and `MarkClean` know it by; never used twice in a session."""
    run: int
    """The run it belongs to, counted from 1 in a session."""
    pair: Pair
    """The change: index of the shape left and of the shape reached among the drill's steps."""
    timing: Timing
    """How it was timed."""
    change_ms: float | None
    """Change time in milliseconds; None where it was heard and has none."""
    at: float
    """When it landed, monotonic seconds."""
    clean: bool | None = None
    """What was said of it so far."""
    tempo: float | None = None
    """Beats per minute it was played at; None out of tempo."""
    heard: HeardChange | None = None
    """What was measured of it; None where it was not heard."""


@dataclass(frozen=True, slots=True)
class Unlog:
    """A change that was logged did not land after all: remove it."""

    number: int
    """As in `Timed`."""


@dataclass(frozen=True, slots=True)
class MarkClean:
    """What the player says of a logged change."""

    number: int
    """As in `Timed`."""
    clean: bool | None
    """False: unclean; None: the mark is taken off."""


@dataclass(frozen=True, slots=True)
class Measured:
    """There is more to say of a logged change that was heard: it is over, and its measures stand."""

    number: int
    """As in `Timed`."""
    heard: HeardChange
    """As in `Timed`."""
    clean: bool | None
    """What the player said of it, else what was heard."""


@dataclass(frozen=True, slots=True)
class Expect:
    """Listen anew: the player begins with this shape."""

    step: int
    """Its index among the drill's steps."""


@dataclass(frozen=True, slots=True)
class Summary:
    """What a run came to."""

    run: int
    """Counted from 1 in a session."""
    timing: Timing
    """How its changes were timed."""
    began: float
    """When it began, monotonic seconds."""
    asked: int
    """How many changes were tried; paced: how many went by."""
    landed: int
    """How many of them landed; paced: what the player said."""
    times_ms: tuple[float, ...] = ()
    """Change times in the order played; empty where none were measured."""
    tempo: float | None = None
    """Beats per minute it was played at; None out of tempo."""
    complete: bool = True
    """False where it was broken off."""
    heard: tuple[Leg, ...] = ()
    """To the beat and heard from end to end: what was due in turn, so that it is known what did not land."""

    @property
    def missed(self) -> int:
        """How many did not land."""
        return self.asked - self.landed

    @property
    def best_ms(self) -> float | None:
        """The shortest change time; None where none was measured."""
        return min(self.times_ms, default=None)


@dataclass(frozen=True, slots=True)
class RunEnded:
    """A run is over: log it. A second one for the same run replaces the first."""

    summary: Summary
    """What it came to."""


@dataclass(frozen=True, slots=True)
class RunReopened:
    """What ended this run was taken back: it goes on, and its log entry is to go."""

    run: int
    """Its number."""


@dataclass(frozen=True, slots=True)
class StartBeat:
    """Tick: send a `Beat` at once and then `per_beat` times each beat."""

    clock: int
    """Number every `Beat` carries."""
    tempo: float
    """Beats per minute."""
    per_beat: int
    """Ticks in a beat: 1 unless a shape begins between beats."""

    @property
    def every_s(self) -> float:
        """Seconds between two ticks."""
        return 60 / (self.tempo * self.per_beat)


@dataclass(frozen=True, slots=True)
class CueAfterWait:
    """Draw a wait, let it pass, give the cue, and send `Go` stamped with the moment the cue was given."""

    clock: int
    """Number the `Go` carries."""
    low_s: float
    """The shortest wait in seconds."""
    high_s: float
    """The longest."""


@dataclass(frozen=True, slots=True)
class AskLanded:
    """Ask how many landed, and send a `Scan` each `every_s` seconds until the answer."""

    clock: int
    """Number every `Scan` carries."""
    asked: int
    """How many changes went by."""
    every_s: float
    """How long one number stays highlighted."""


@dataclass(frozen=True, slots=True)
class StopClock:
    """End the beat, the wait or the scan of this number; what it still sends has no effect."""

    clock: int
    """Its number."""


@dataclass(frozen=True, slots=True)
class Bell:
    """Ring the terminal bell, or click."""

    accent: bool
    """True on the first beat of the count-in and on the beat where a shape begins."""


@dataclass(frozen=True, slots=True)
class Show:
    """Show this change as movement."""

    pair: Pair
    """As in `Timed`."""


@dataclass(frozen=True, slots=True)
class Note:
    """A line to say to the player."""

    text: str
    """One sentence or two; empty: nothing to say."""
    number: int = 0
    """Tells two notes of the same text apart."""


Clock: TypeAlias = StartBeat | CueAfterWait | AskLanded
"""Effects that set the runner's one clock going."""

Effect: TypeAlias = (
    Timed | Unlog | MarkClean | Measured | RunEnded | RunReopened | Clock | StopClock | Expect | Bell | Show | Note
)
