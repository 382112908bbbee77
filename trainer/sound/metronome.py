"""A beat that starts and stops in the best way there is: a sound device, a MIDI port of our own, or a bell."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any, Protocol

import numpy as np

from trainer.errors import ChangeoverError, wrong
from trainer.hush import hush
from trainer.sound import device
from trainer.sound.beat import Pattern, Weight, train
from trainer.sound.clicks import Samples, render
from trainer.sound.port import MICRO, NAME, messages, send_beat
from trainer.sound.stream import Stream
from trainer.sound.ways import Choice, Way, choose

_LEAD_S = 0.1
"""The first click of a beat comes so long after it was asked for: enough for what is already on its way to the ear."""


class Metronome(Protocol):
    """A beat that can be started and stopped, any number of times."""

    def play(self, tempo: float, pattern: Pattern) -> None:
        """Start a beat, in place of one that may be running."""

    def stop(self) -> None:
        """Be silent."""


@contextmanager
def metronome(wanted: Way, ring: Callable[[], None] | None = None) -> Iterator[tuple[Metronome, Choice]]:
    """Open a metronome in the way that is wanted or the best one below it, and say which that is.

    `ring` rings the terminal's bell; without it there is no bell. Nothing is opened that is not wanted.
    """
    with ExitStack() as opened:
        hindrances: dict[Way, str | None] = {Way.BELL: None if ring is not None else "there is no terminal"}
        found: Metronome | None = None
        for way, attempt in ((Way.SOUND, _sound), (Way.PORT, _port)):
            if found is None and list(Way).index(way) >= list(Way).index(wanted) and wanted is not Way.BELL:
                try:
                    found = attempt(opened)
                except ChangeoverError as error:
                    hindrances[way] = "; ".join(problem.what for problem in error.problems)
        choice = choose(hindrances, wanted)
        if found is None:
            found = Timed(_rung(ring) if choice.way is Way.BELL and ring is not None else lambda _: None)
        opened.callback(found.stop)
        yield found, choice


class Sounding:
    """A beat in a sample stream."""

    def __init__(self, stream: Stream) -> None:
        """Beat in `stream`, which plays."""
        self._stream = stream

    def play(self, tempo: float, pattern: Pattern) -> None:
        """Start a beat, in place of one that may be running."""
        rate = self._stream.rate
        start = self._stream.handed + round(_LEAD_S * rate)
        beat = train(tempo, rate, pattern, start)
        self._stream.replace(lambda first, count: render(beat, first, count), start)

    def stop(self) -> None:
        """Be silent from the next frame on."""
        self._stream.replace(silence, self._stream.handed)


class Timed:
    """A beat of single events, each sent by a timer of the program."""

    def __init__(self, send: Callable[[Weight], None], now: Callable[[], float] = time.monotonic) -> None:
        """Send the weight of each tick when its moment has come."""
        self._send = send
        self._now = now
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def play(self, tempo: float, pattern: Pattern) -> None:
        """Start a beat, in place of one that may be running."""
        self.stop()
        over = self._over = threading.Event()
        start = self._now() + _LEAD_S

        def wait_until(seconds: float) -> bool:
            return not over.wait(max(seconds - self._now(), 0.0))

        beat = train(tempo, MICRO, pattern)
        self._thread = threading.Thread(
            target=send_beat, args=(beat, start, self._send, wait_until), name="click", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """Be silent, and wait until the timer has ended."""
        self._over.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None


def silence(_: int, count: int) -> Samples:
    """Return so many frames of nothing."""
    return np.zeros(count, np.float32)


def _sound(opened: ExitStack) -> Metronome:
    stream = Stream(silence, device.RATE, time.monotonic)
    opened.enter_context(device.playing(stream))
    return Sounding(stream)


def _port(opened: ExitStack) -> Metronome:
    output = opened.enter_context(own_port())

    def send(weight: Weight) -> None:
        for message in messages(weight):
            output(message)

    return Timed(send)


@contextmanager
def own_port() -> Iterator[Callable[[tuple[int, int, int]], None]]:
    """Open a MIDI port of our own for others to connect to; what it gives sends three bytes.

    Raises ChangeoverError where there is no MIDI, or none that lets programs make ports.
    """
    try:
        import mido  # type: ignore[import-untyped]  # it ships no types

        hush(ahead=True)
        output: Any = mido.open_output(NAME, virtual=True)
    except Exception as error:  # rtmidi has errors of its own, and raises others where there is no MIDI
        raise wrong("no MIDI port of our own can be made", hint="'changeover ports' says why") from error
    try:
        yield lambda message: output.send(mido.Message.from_bytes(message))
    finally:
        output.close()


def _rung(ring: Callable[[], None]) -> Callable[[Weight], None]:
    """Return what rings for beats, not for the parts of one: a bell cannot be told from the next that close by."""
    return lambda weight: ring() if weight >= Weight.BEAT else None
