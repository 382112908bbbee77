"""Pedals: controllers and notes that call a command of the program, once for each time they are pressed."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.practice.wiring import Sends, Trigger

DOWN = 64
"""A controller from this value on is down (MIDI 1.0: 0-63 off, 64-127 on)."""
UP = 40
"""Once down, it is up again below this: a pedal held half way trembles by a few steps and must not stutter. Common
practice, no source."""


class Pedals:
    """Which pedals are down, and what is called by the one that goes down."""

    def __init__(self, calls: Mapping[Trigger, str]) -> None:
        self._calls = calls
        self._down: dict[Trigger, set[int]] = {}

    def trigger(self, kind: Sends, number: int, channel: int) -> Trigger | None:
        """Return the trigger that a controller or note is; one for this channel goes before one for any."""
        for trigger in (Trigger(kind, number, channel), Trigger(kind, number)):
            if trigger in self._calls:
                return trigger
        return None

    def move(self, trigger: Trigger, channel: int, value: int) -> str | None:
        """Take a value of the trigger's controller; return what it calls if that pressed it.

        A guitar may send its pedal on every string's channel: pressed is what was up on all of them.
        """
        down = self._down.setdefault(trigger, set())
        if value >= DOWN:
            pressed = not down
            down.add(channel)
            return self._calls[trigger] if pressed else None
        if value < UP:
            down.discard(channel)
        return None

    def strike(self, trigger: Trigger) -> str:
        """Return what a note calls: each note-on is a press, its end says nothing."""
        return self._calls[trigger]

    def release(self, channel: int | None = None) -> None:
        """Let every pedal of a channel go, of all channels where none is given."""
        for down in self._down.values():
            if channel is None:
                down.clear()
            else:
                down.discard(channel)
