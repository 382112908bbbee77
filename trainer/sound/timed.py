"""The click as single events, each sent by a timer of the program: over a port, or as a bell.

A click may be a few milliseconds late; the beat never drifts, because every click is timed from the beginning.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable

from trainer.sound.beat import LEAD_S, Moments, Pattern, Train, Weight, train
from trainer.sound.clicks import Samples

MICRO = 1_000_000
"""A beat for this way counts its places in microseconds: `train(tempo, MICRO)`."""


class Timed:
    """A beat of single events, each sent by a timer of the program."""

    def __init__(self, send: Callable[[Weight], None], now: Callable[[], float] = time.monotonic) -> None:
        """Send the weight of each tick when its moment has come."""
        self._send = send
        self._now = now
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
        """Start a beat, in place of one that may be running, and return when it is heard."""
        self.stop()
        over = self._over = threading.Event()
        now = self._now()
        begin = now + LEAD_S if start is None else start

        def wait_until(seconds: float) -> bool:
            return not over.wait(max(seconds - self._now(), 0.0))

        beat = train(tempo, MICRO, pattern)
        first = max(math.ceil((now - begin) * MICRO / beat.frames_per_tick), 0)
        self._thread = threading.Thread(
            target=send_beat, args=(beat, begin, self._send, wait_until, first), name="click", daemon=True
        )
        self._thread.start()
        return lambda beats: begin + float(beat.place(beats)) / MICRO

    def stop(self) -> None:
        """Be silent; what is being sent at this moment is not waited for."""
        self._over.set()

    def sound(self, _: Samples) -> bool:
        """Return that samples cannot be sounded."""
        return False

    def end(self) -> None:
        """Be silent, and wait until nothing is sent any more."""
        self.stop()
        if self._thread is not None:
            self._thread.join()


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


def rung(ring: Callable[[], None]) -> Callable[[Weight], None]:
    """Return what rings for beats, not for the parts of one: a bell cannot be told from the next that close by."""
    return lambda weight: ring() if weight >= Weight.BEAT else None
