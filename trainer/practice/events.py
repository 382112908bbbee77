"""What can happen to a practice session. Every event carries the moment it happened."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode


@dataclass(frozen=True, slots=True)
class Stamped:
    """Something that happened at a known moment."""

    at: float
    """Monotonic seconds, stamped where it came in."""


@dataclass(frozen=True, slots=True)
class Ticking(Stamped):
    """Something from the clock the runner keeps; without effect once that clock is no longer the session's."""

    clock: int
    """Number of the clock (`effects.CueAfterWait`, `StartBeat` or `AskLanded`)."""


@dataclass(frozen=True, slots=True)
class Press(Stamped):
    """The one key or pedal went down; what it means follows from the phase."""


@dataclass(frozen=True, slots=True)
class Leave(Stamped):
    """The hand leaves the shape, said by a key of its own."""


@dataclass(frozen=True, slots=True)
class Landed(Stamped):
    """The new shape has landed, said by a key of its own."""


@dataclass(frozen=True, slots=True)
class Heard(Stamped):
    """A change was heard, or there is more to say of one that was."""

    change: HeardChange
    """Its shapes are steps of the drill; its index tells it from every other of the session."""


@dataclass(frozen=True, slots=True)
class Missed(Stamped):
    """The change in flight did not land."""


@dataclass(frozen=True, slots=True)
class Deaf(Stamped):
    """The guitar was lost: what is played from here on is not heard."""


@dataclass(frozen=True, slots=True)
class Next(Stamped):
    """On to the next change, without counting this one."""


@dataclass(frozen=True, slots=True)
class Back(Stamped):
    """Back to the change before; what was logged stays."""


@dataclass(frozen=True, slots=True)
class Repeat(Stamped):
    """The change played last once more; in a walk, show it again."""


@dataclass(frozen=True, slots=True)
class Restart(Stamped):
    """A new run from its first change."""


@dataclass(frozen=True, slots=True)
class Pause(Stamped):
    """Stop timing."""


@dataclass(frozen=True, slots=True)
class Resume(Stamped):
    """Go on after a pause."""


@dataclass(frozen=True, slots=True)
class Quit(Stamped):
    """The session is over."""


@dataclass(frozen=True, slots=True)
class Go(Ticking):
    """The cue was given, at this moment."""


@dataclass(frozen=True, slots=True)
class Beat(Ticking):
    """One tick of the beat; the first comes as soon as the beat is started."""


@dataclass(frozen=True, slots=True)
class Scan(Ticking):
    """The highlight moves on to the next number."""


@dataclass(frozen=True, slots=True)
class Said(Stamped):
    """The player says how many landed."""

    landed: int
    """How many, from 0 to as many as went by."""


@dataclass(frozen=True, slots=True)
class MarkUnclean(Stamped):
    """The last landing was not clean; a second time takes the mark off."""


@dataclass(frozen=True, slots=True)
class TakeBack(Stamped):
    """The last landing (or miss, or answer) did not happen: back to before it."""


@dataclass(frozen=True, slots=True)
class Void(Stamped):
    """Time cannot be trusted (a clock gap, a suspended machine): the change in flight does not count."""

    why: str
    """A short clause without a full stop, shown to the player."""


@dataclass(frozen=True, slots=True)
class SetTempo(Stamped):
    """Play at this tempo."""

    tempo: float
    """Beats per minute; brought within the limits."""


@dataclass(frozen=True, slots=True)
class Slower(Stamped):
    """One step slower."""


@dataclass(frozen=True, slots=True)
class Faster(Stamped):
    """One step faster."""


@dataclass(frozen=True, slots=True)
class SetMode(Stamped):
    """A new run in this mode."""

    mode: Mode
    """The mode to practise in."""


Event: TypeAlias = (
    Press
    | Leave
    | Landed
    | Heard
    | Deaf
    | Missed
    | Next
    | Back
    | Repeat
    | Restart
    | Pause
    | Resume
    | Quit
    | Go
    | Beat
    | Scan
    | Said
    | MarkUnclean
    | TakeBack
    | Void
    | SetTempo
    | Slower
    | Faster
    | SetMode
)
