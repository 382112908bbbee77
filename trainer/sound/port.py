"""The click over a MIDI port of our own: for a synthesiser, a drum machine, or whatever else is connected to it.

A timer of the program sends each note, so a click may be a few milliseconds late; it never drifts, because every one is
timed from the beginning.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from trainer.sound.beat import Train, Weight

NAME = "Changeover click"
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
    send: Callable[[tuple[int, int, int]], None],
    wait_until: Callable[[float], bool],
    first: int = 0,
) -> int:
    """Send the ticks of `beat` from tick `first` on until `wait_until` says that it is over; return the next tick.

    `beat` counts in `MICRO` a second from the monotonic second `start`; `wait_until` returns False when it is over.
    """
    tick = first
    while wait_until(start + beat.frame(tick) / MICRO):
        for message in messages(beat.click(tick).weight):
            send(message)
        tick += 1
    return tick


@contextmanager
def sending(beat: Train, start: float, now: Callable[[], float], output: Any) -> Iterator[None]:
    """Send a beat to an open mido output in a thread of its own, for as long as the context is entered."""
    import mido  # type: ignore[import-untyped]  # it ships no types

    over = threading.Event()

    def wait_until(seconds: float) -> bool:
        return not over.wait(max(seconds - now(), 0.0))

    def send(message: tuple[int, int, int]) -> None:
        output.send(mido.Message.from_bytes(message))

    thread = threading.Thread(target=send_beat, args=(beat, start, send, wait_until), name="click", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
