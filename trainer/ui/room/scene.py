"""What is seen in the room at one moment, as a value."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.fretboard.instrument import Instrument
from trainer.hand.change import Change
from trainer.practice.room import Show


@dataclass(frozen=True, slots=True)
class Scene:
    """What is seen."""

    change: Change
    """The change at hand."""
    instrument: Instrument
    """What it is played on."""
    names: tuple[str, str]
    """What the shape now and the next one are called; no next one once the last is held."""
    words: str
    """The change in words."""
    beat: int = 0
    """Which beat it is; 0: none."""
    counting: bool = False
    """True while a bar is counted in."""
    tempo: float = 60.0
    """Beats per minute."""
    said: str = ""
    """What there is to say besides: frozen, from memory, which part."""
    show: Show = Show.BOTH
    """What of the change is drawn."""
    arrived: bool = False
    """True while the last shape is held."""
    hidden: bool = False
    """True: only the names."""
    both_hands: bool = False
    """True: drawn twice."""
