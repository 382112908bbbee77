"""Pedals as they are pressed while a guitar is set up, whether or not any of them calls a command yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from trainer import ring
from trainer.listen.pedals import DOWN, UP
from trainer.practice.wiring import Trigger

CALLS = (
    *("press", "next", "previous", "again", "pause", "restart", "unclean", "undo", "slower", "faster"),
    *("memory", "course"),
)
"""Commands of a drill that a pedal may call, the likeliest first; each press in the last step goes on to the next."""
_NO_PEDAL = frozenset({0, 6, 32, 38, *range(96, 102), *range(120, 128)})
"""Controllers that no pedal sends: banks, data entry, parameters, channel modes (MIDI 1.0, table of controllers)."""


@dataclass(frozen=True, slots=True)
class Pedalling:
    """Which controllers are down. Every method returns a new value."""

    down: frozenset[tuple[int, int]] = frozenset()
    """(channel, controller) of each."""

    def move(self, channel: int, number: int, value: int) -> tuple[Pedalling, bool]:
        """Take a controller's value, and return whether that pressed a pedal.

        A guitar may send its pedal on every string's channel: pressed is what was up on all of them.
        """
        key = (channel, number)
        if number in _NO_PEDAL or UP <= value < DOWN:
            return self, False
        if value < UP:
            return replace(self, down=self.down - {key}), False
        pressed = all(other != number for _, other in self.down)
        return replace(self, down=self.down | {key}), pressed


def call_of(calls: Mapping[Trigger, str], trigger: Trigger) -> str | None:
    """Return what a controller or note calls; one for its channel goes before one for any."""
    return calls.get(trigger) or calls.get(replace(trigger, channel=None))


def turned(calls: Mapping[Trigger, str], trigger: Trigger, by: int) -> Mapping[Trigger, str]:
    """Return the calls with `trigger` calling the command that is `by` further on among `CALLS`; the first to begin."""
    now = calls.get(trigger)
    return {**calls, trigger: ring.turned(CALLS, now, by) if now in CALLS else CALLS[0]}
