"""The click as single events, sent by a timer of the program: over a MIDI port of our own, or as a bell.

A click may be a few milliseconds late; the beat never drifts, because every click is timed from the beginning.
"""

from __future__ import annotations

from collections.abc import Callable

from trainer.practice.wiring import OWN_CLICK
from trainer.sound.beat import Train, Weight

NAME = OWN_CLICK
"""What other programs see the port as."""
MICRO = 1_000_000
"""A beat for this way counts its places in microseconds: `train(tempo, MICRO)`."""
_PERCUSSION = 9
"""Channel 10, counted from 0: percussion in General MIDI."""
_HIGH, _LOW = 76, 77
"""High and low wood block (General MIDI 1, percussion key map; from memory)."""
_STROKES = {Weight.PART: (_LOW, 50), Weight.BEAT: (_LOW, 90), Weight.ACCENT: (_HIGH, 120)}
"""(note, velocity) of each kind of tick."""


def messages(weight: Weight) -> tuple[tuple[int, int, int], ...]:
    """Return the MIDI bytes of a tick: note on, then note off; none for a silent one."""
    if weight is Weight.SILENT:
        return ()
    note, velocity = _STROKES[weight]
    return (0x90 | _PERCUSSION, note, velocity), (0x80 | _PERCUSSION, note, 0)


def send_beat(
    beat: Train,
    start: float,
    send: Callable[[Weight], None],
    wait_until: Callable[[float], bool],
    first: int = 0,
) -> int:
    """Send the ticks of `beat` from tick `first` on until `wait_until` says that it is over; return the next tick.

    `beat` counts in `MICRO` a second from the monotonic second `start`; `wait_until` returns False when it is over.
    """
    tick = first
    while wait_until(start + beat.frame(tick) / MICRO):
        send(beat.click(tick).weight)
        tick += 1
    return tick
