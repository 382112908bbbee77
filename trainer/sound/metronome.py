"""A beat that starts and stops in the best way there is: a sound device, a MIDI port of our own, or a bell."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from fractions import Fraction
from functools import partial
from typing import Protocol

import numpy as np

from trainer.errors import ChangeoverError
from trainer.sound import device
from trainer.sound.beat import LEAD_S, Moments, Pattern, Train, Weight, train
from trainer.sound.clicks import Samples, render
from trainer.sound.clock import Clock
from trainer.sound.port import messages, own_port
from trainer.sound.stream import Stream
from trainer.sound.timed import Timed, rung
from trainer.sound.ways import Choice, Way, choose


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
        ways = list(Way)
        for way, attempt in ((Way.SOUND, partial(_sound, late_s)), (Way.PORT, _port)):
            if only and way is not wanted:
                hindrances[way] = "not asked for"
                continue
            if found is not None or ways.index(way) < ways.index(wanted):
                continue
            try:
                found = attempt(opened)
            except ChangeoverError as error:
                hindrances[way] = "; ".join(problem.what for problem in error.problems)
        choice = choose(hindrances, wanted)
        if found is None:
            found = opened.enter_context(_timed(rung(ring) if choice.way is Way.BELL and ring else lambda _: None))
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
        first = self._stream.handed + round(LEAD_S * rate)
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
        first = self._stream.handed + round(LEAD_S * self._stream.rate)
        self._chord = (first, samples)
        self._mix(first)
        return True

    def _mix(self, first: int) -> None:
        """Play what there is from frame `first` on."""
        self._stream.replace(partial(_mixed, self._beat, self._chord), first)


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
