"""Ways to practise, and where a session stands in one."""

from __future__ import annotations

from enum import StrEnum
from types import MappingProxyType

from trainer.practice.record import Timing


class Mode(StrEnum):
    """How a drill is practised."""

    WALK = "walk"
    """Untimed: step from change to change and read what each finger does."""
    PACED = "paced"
    """The board advances with the beat, no press while playing; afterwards the player says how many landed."""
    PRESSES = "presses"
    """One press leaves, the next lands: left hand only, right thumb on the space bar, or a pedal."""
    CUED = "cued"
    """The program says go after an unpredictable wait; one press says landed."""
    HEARD = "heard"
    """A MIDI guitar is listened to: nothing is pressed, every change is timed from the notes."""


DEFAULT_MODE = Mode.PACED
"""Both hands hold a guitar: without a pedal or a MIDI guitar there is no hand left to press anything."""

TIMINGS = MappingProxyType(
    {Mode.PACED: Timing.BEAT, Mode.PRESSES: Timing.LEAVE, Mode.CUED: Timing.CUE, Mode.HEARD: Timing.HEARD}
)
"""How the changes of each mode are timed; a walk is not."""


class Phase(StrEnum):
    """Where a session stands."""

    WALK = "walk"
    """A change is shown and explained."""
    READY = "ready"
    """Paced, cued: the hand takes the shape that is left; a press starts."""
    COUNT_IN = "count-in"
    """Paced: a bar is counted before the first shape."""
    PLAYING = "playing"
    """Paced: the board advances with the beat."""
    ASK = "ask"
    """Paced: how many landed?"""
    HOLD = "hold"
    """Presses: the hand holds the shape that is left; a press leaves."""
    WAIT = "wait"
    """Cued: the player waits for go."""
    CHANGING = "changing"
    """Presses, cued: a change is in flight; a press lands."""
    LISTENING = "listening"
    """Heard: the guitar is listened to, from change to change."""
    PAUSED = "paused"
    """Nothing is timed."""
    ENDED = "ended"
    """The run is over; a press begins the next."""
    CLOSED = "closed"
    """The session is over; nothing has any effect."""


BEATING = (Phase.COUNT_IN, Phase.PLAYING)
"""Phases in which the beat runs."""

FIRST = MappingProxyType(
    {
        Mode.WALK: Phase.WALK,
        Mode.PACED: Phase.READY,
        Mode.PRESSES: Phase.HOLD,
        Mode.CUED: Phase.READY,
        Mode.HEARD: Phase.LISTENING,
    }
)
"""Where a run of each mode stands before anybody has pressed anything."""

STARTED = MappingProxyType(
    {
        Mode.WALK: Phase.WALK,
        Mode.PACED: Phase.COUNT_IN,
        Mode.PRESSES: Phase.HOLD,
        Mode.CUED: Phase.WAIT,
        Mode.HEARD: Phase.LISTENING,
    }
)
"""Where a run of each mode stands once a press has started it."""

KEPT_BY_PAUSE = frozenset({Phase.READY, Phase.ASK, Phase.HOLD})
"""Phases a pause goes back to; after any other the run goes on as from a press that starts it."""
