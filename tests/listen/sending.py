"""What a guitar would send: note events back to MIDI messages, and a model player's playing as a stream of them."""

from __future__ import annotations

from collections.abc import Iterable

from tests.listen.player import TWO_PERIODS, Habits, Player
from trainer.practice.drill import Drill
from trainer.practice.notes import Bend, NoteEvent, NoteOn
from trainer.practice.wiring import Wiring, in_order

RANGE = 12.0
"""Bend range of the guitar, in semitones."""
GUITAR = Wiring(
    strings=in_order(1), bend_semitones=RANGE, latency_ms={string: s * 1000 for string, s in TWO_PERIODS.items()}
)
"""A channel for each string, string 1 on channel 1, calibrated."""
ONE_CHANNEL = Wiring(bend_semitones=RANGE)
"""Everything on one channel."""


def sent(events: Iterable[NoteEvent]) -> list[tuple[float, bytes]]:
    """Return the messages of `events`, a channel for each string, channel 1 where none is told."""
    return [(event.at, _message(event, (event.string or 1) - 1)) for event in events]


def played(drill: Drill, shapes: int, seed: int, habits: Habits | None = None) -> list[tuple[float, bytes]]:
    """Return what the guitar of a model player sends, as late as its tracker is."""
    return sent(Player(drill, habits or Habits(calibrated=False), seed).play(shapes))


def _message(event: NoteEvent, channel: int) -> bytes:
    if isinstance(event, Bend):
        value = min(max(round(8192 + event.semitones / RANGE * 8192), 0), 16383)
        return bytes((0xE0 | channel, value & 0x7F, value >> 7))
    if isinstance(event, NoteOn):
        return bytes((0x90 | channel, event.pitch, event.velocity))
    return bytes((0x80 | channel, event.pitch, 64))
