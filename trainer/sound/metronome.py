"""A beat that starts and stops in the best way there is: a sound device, a MIDI port of our own, or a bell."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from fractions import Fraction
from functools import partial
from typing import Any, Protocol, TypeAlias

import numpy as np

from trainer.errors import ChangeoverError, wrong
from trainer.hush import hush
from trainer.sound import device
from trainer.sound.beat import Pattern, Train, Weight, train
from trainer.sound.clicks import Samples, render
from trainer.sound.clock import Clock
from trainer.sound.port import MICRO, NAME, messages, send_beat
from trainer.sound.stream import Stream
from trainer.sound.ways import Choice, Way, choose

_LEAD_S = 0.1
"""The first click of a beat comes so long after it was asked for: enough for what is already on its way to the ear."""


Moments: TypeAlias = Callable[[Fraction], float]
"""From a number of beats after the first tick to the monotonic second at which that is heard, as far as known now."""


class Metronome(Protocol):
    """A beat that can be started and stopped, any number of times; neither keeps its caller waiting."""

    def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
        """Start a beat, in place of one that may be running, and return when it is heard.

        Its first tick is heard at the monotonic second `start`, which may be past: the beat is joined then. Without
        one it begins as soon as it can.
        """

    def stop(self) -> None:
        """Be silent."""

    def sound(self, samples: Samples) -> bool:
        """Sound samples beside the beat, `device.RATE` a second, in place of those before; False where it cannot."""


@contextmanager
def metronome(
    wanted: Way, ring: Callable[[], None] | None = None, late_s: float = 0.0, *, only: bool = False
) -> Iterator[tuple[Metronome, Choice]]:
    """Open a metronome in the way that is wanted or the best one below it, and say which that is.

    `ring` rings the terminal's bell; without it there is no bell. Nothing is opened that is not wanted; `only`: nothing
    in its place either. `late_s` is how long after a frame is handed to the sound device it is heard.
    """
    with ExitStack() as opened:
        hindrances: dict[Way, str | None] = {Way.BELL: None if ring is not None else "there is no terminal"}
        found: Metronome | None = None
        for way, attempt in ((Way.SOUND, partial(_sound, late_s)), (Way.PORT, _port)):
            if only and way is not wanted:
                hindrances[way] = "not asked for"
            elif found is None and list(Way).index(way) >= list(Way).index(wanted) and wanted is not Way.BELL:
                try:
                    found = attempt(opened)
                except ChangeoverError as error:
                    hindrances[way] = "; ".join(problem.what for problem in error.problems)
        choice = choose(hindrances, wanted)
        if found is None:
            found = opened.enter_context(_timed(_rung(ring) if choice.way is Way.BELL and ring else lambda _: None))
        yield found, choice


class Sounding:
    """A beat in a sample stream, and a chord beside it."""

    def __init__(self, stream: Stream, late_s: float = 0.0) -> None:
        """Beat in `stream`, which plays; what it hands out is heard `late_s` seconds later."""
        self._stream = stream
        self._late_s = late_s
        self._beat: Train | None = None
        self._chord: tuple[int, Samples] | None = None

    def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
        """Start a beat, in place of one that may be running, and return when it is heard."""
        rate, clock = self._stream.rate, self._stream.clock
        first = self._stream.handed + round(_LEAD_S * rate)
        if start is not None and clock is not None:
            first = round(clock.frame_at(start - self._late_s))
        beat = self._beat = train(tempo, rate, pattern, first)
        self._mix(first)

        def moment(beats: Fraction) -> float:
            running = self._stream.clock or Clock(self._stream.handed, time.monotonic(), rate)
            return running.time(float(beat.place(beats))) + self._late_s

        return moment

    def stop(self) -> None:
        """End the beat with the next frame; a chord rings on."""
        self._beat = None
        self._mix(self._stream.handed)

    def sound(self, samples: Samples) -> bool:
        """Sound samples beside the beat from now on, in place of those before."""
        first = self._stream.handed + round(_LEAD_S * self._stream.rate)
        self._chord = (first, samples)
        self._mix(first)
        return True

    def _mix(self, first: int) -> None:
        """Play what there is from frame `first` on."""
        self._stream.replace(partial(_mixed, self._beat, self._chord), first)


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
        begin = now + _LEAD_S if start is None else start

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


def silence(_: int, count: int) -> Samples:
    """Return so many frames of nothing."""
    return np.zeros(count, np.float32)


def _mixed(beat: Train | None, chord: tuple[int, Samples] | None, first: int, count: int) -> Samples:
    """Return `count` frames from frame `first` on of a beat and of a chord that begins at a frame of its own."""
    block = silence(first, count) if beat is None else render(beat, first, count)
    if chord is not None:
        begin, samples = chord
        inside = samples[max(first - begin, 0) : max(first - begin + count, 0)]
        place = max(begin - first, 0)
        block[place : place + len(inside)] += inside
    return block


def _sound(late_s: float, opened: ExitStack) -> Metronome:
    stream = Stream(silence, device.RATE, time.monotonic)
    opened.enter_context(device.playing(stream))
    beat = Sounding(stream, late_s)
    opened.callback(beat.stop)
    return beat


def _port(opened: ExitStack) -> Metronome:
    output = opened.enter_context(own_port())

    def send(weight: Weight) -> None:
        for message in messages(weight):
            output(message)

    return opened.enter_context(_timed(send))


@contextmanager
def _timed(send: Callable[[Weight], None]) -> Iterator[Timed]:
    beat = Timed(send)
    try:
        yield beat
    finally:
        beat.end()


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
