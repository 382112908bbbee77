"""What the player is told in each phase of each way to practise. One table, for the screen and for line mode."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from trainer.practice.phases import Mode, Phase

GO = "GO"
"""The cue."""


@dataclass(frozen=True, slots=True)
class Said:
    """What is said in one phase of one mode. `{a}` and `{b}` are the shapes left and reached, `{asked}` a number."""

    press: str
    """What the press does now, for the key bar; empty where it does nothing."""
    prompt: str
    """What to do, after the key's name where a press is next."""
    big: str = ""
    """A word in big letters; empty where a number stands there."""
    caption: str = "now"
    """What stands over the big word or number."""


MODE_NAMES = MappingProxyType(
    {
        Mode.PACED: "to the beat",
        Mode.PRESSES: "two presses",
        Mode.CUED: "on cue",
        Mode.HEARD: "by ear",
        Mode.WALK: "walk through",
    }
)
"""What the player reads."""

MODE_ABOUT = MappingProxyType(
    {
        Mode.PACED: "To the beat: play along with both hands; the tempo follows what landed.",
        Mode.PRESSES: "Two presses: left hand changes, right thumb or pedal times it.",
        Mode.CUED: "On cue: change when GO comes, press when the shape is down.",
        Mode.WALK: "Walk through: nothing is timed; read what each finger does.",
        Mode.HEARD: "By ear: a MIDI guitar is listened to; just play, every change is timed.",
    }
)
"""One line on each, said when it is chosen."""

SAID = MappingProxyType(
    {
        (Mode.WALK, Phase.WALK): Said("next", "shows the next change."),
        (Mode.PACED, Phase.READY): Said("start", "starts: one bar is counted, then play along. Hold {a}.", "READY"),
        (Mode.PACED, Phase.COUNT_IN): Said("", "Hold {a}. Play it on the next 1.", caption="count-in"),
        (Mode.PACED, Phase.PLAYING): Said("", "{a} now, {b} on its first beat. Nothing to press.", caption="beat"),
        (Mode.PACED, Phase.ASK): Said(
            "take it", "takes the number shown, or type it: how many of {asked} landed?", caption="landed?"
        ),
        (Mode.PRESSES, Phase.HOLD): Said("leave", "when your fingers leave {a}: the clock starts.", "HOLD"),
        (Mode.PRESSES, Phase.CHANGING): Said("land", "when {b} is down: the clock stops.", caption="changing"),
        (Mode.CUED, Phase.READY): Said("ready", "when you hold {a}: GO comes 1 to 3 seconds later.", "READY"),
        (Mode.CUED, Phase.WAIT): Said("", "Keep holding {a}. Change when you see GO.", "WAIT"),
        (Mode.CUED, Phase.CHANGING): Said("land", "when {b} is down.", GO),
        (Mode.HEARD, Phase.LISTENING): Said("again", "begins {a} again. Play {a}, then {b}.", "PLAY"),
    }
)
"""What is said, by mode and phase."""

BRIEF = MappingProxyType(
    {
        (Mode.PACED, Phase.READY): "starts the count-in. Hold {a}.",
        (Mode.PACED, Phase.PLAYING): "{a} now, {b} on its first beat.",
        (Mode.PACED, Phase.ASK): "takes it, or type how many of {asked} landed.",
        (Mode.PRESSES, Phase.HOLD): "when your fingers leave {a}.",
        (Mode.CUED, Phase.READY): "when you hold {a}; GO follows.",
        (Mode.HEARD, Phase.LISTENING): "starts over: {a}, then {b}.",
    }
)
"""The longer prompts in fewer words, for a narrow window."""

ANYWHERE = MappingProxyType(
    {
        Phase.PAUSED: Said("go on", "goes on. Hold {a} first.", "PAUSE"),
        Phase.ENDED: Said("play on", "plays on. Hold {a} first.", "DONE"),
        Phase.CLOSED: Said("", ""),
    }
)
"""The same where the mode makes no difference."""


def said(mode: Mode, phase: Phase) -> Said:
    """Return what is said in `phase` of `mode`."""
    return SAID.get((mode, phase)) or ANYWHERE[phase]
