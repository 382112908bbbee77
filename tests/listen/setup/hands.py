"""Model hands at a guitar whose wiring, delays and loudness are known: what a port would send while it is set up."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trainer.listen import wire
from trainer.listen.setup import striking as routine
from trainer.listen.setup.latency import Stroke
from trainer.listen.setup.striking import Striking

OPEN = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
"""MIDI note of each open string in standard tuning."""
TWO_PERIODS = {6: 24.3, 5: 18.2, 4: 13.6, 3: 10.2, 2: 8.1, 1: 6.1}
"""Two periods of each of them, ms (A4 = 440 Hz: E2 82.407 Hz and so on, computed)."""
APART_S = 0.5


def on(channel: int, pitch: int, velocity: int = 80) -> wire.Message:
    return wire.Message(wire.NOTE_ON, channel, pitch, velocity)


def off(channel: int, pitch: int) -> wire.Message:
    return wire.Message(wire.NOTE_OFF, channel, pitch, 0)


Sent = tuple[float, wire.Message]


@dataclass
class Tracker:
    """What a pitch tracker makes of single plucks; ghosts and false starts at stated rates."""

    channels: Mapping[int, int]
    """Channel of each string."""
    seed: int = 0
    ghosts: float = 0.0
    """Share of plucks with a high, quiet, short note on another string."""
    octaves: float = 0.0
    """Share of plucks that are heard an octave up for 30 ms first."""
    rings: float = 0.0
    """Share of plucks that make another string sound softly, and long."""
    transpose: int = 0

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        self._at = 0.0

    def pluck(
        self, string: int, velocity: int = 80, pitch: int | None = None, channel: int | None = None
    ) -> list[Sent]:
        """Return what one pluck of an open string sends."""
        chance = self._random.random
        at, channel = self._at, channel or self.channels[string]
        pitch = (OPEN[string] if pitch is None else pitch) + self.transpose
        self._at += APART_S
        sent: list[Sent] = []
        others = [other for other in self.channels.values() if other != channel]
        if chance() < self.octaves:
            sent += [(at, on(channel, pitch + 12, velocity)), (at + 0.03, off(channel, pitch + 12))]
            at += 0.03
        sent += [(at, on(channel, pitch, velocity)), (at + 0.4, off(channel, pitch))]
        if others and chance() < self.ghosts:
            ghost, when = self._random.choice(others), at + self._random.uniform(-0.02, 0.1)
            sent += [(when, on(ghost, pitch + 19, 25)), (when + 0.03, off(ghost, pitch + 19))]
        if others and chance() < self.rings:
            other = self._random.choice([string for string in OPEN if self.channels[string] != channel])
            there = self.channels[other]
            sent += [(at + 0.02, on(there, OPEN[other], 30)), (at + 0.4, off(there, OPEN[other]))]
        return sorted(sent, key=lambda one: one[0])

    def plucks(self, strings: Iterable[int]) -> list[Sent]:
        return [one for string in strings for one in self.pluck(string)]


@dataclass
class Striker:
    """A hand that strikes strings together along with the beat."""

    late_ms: Mapping[int, float]
    """How late each string is heard."""
    seed: int = 0
    habit_ms: float = 0.0
    """How far after the beat it strikes on average."""
    beat_scatter_ms: float = 15.0
    """How unevenly it keeps the beat (standard deviation)."""
    hand_scatter_ms: float = 3.0
    """How unevenly the fingers of one stroke leave the strings, with the tracker's jitter in it."""
    rolled: float = 0.0
    """Share of strokes that are rolled, slowly."""
    clumsy: float = 0.0
    """Share of notes that come 30 to 60 ms late."""
    missed: float = 0.0
    """Share of notes that are not heard."""
    astray: float = 0.0
    """Share of strokes between the beats."""

    def play(self, striking: Striking) -> list[tuple[float, int]]:
        """Return (seconds, string) of everything that is heard of one go."""
        r, beat_s = random.Random(self.seed), routine.BEAT_S
        assert striking.start is not None
        heard: list[tuple[float, int]] = []
        for number in range(striking.beats):
            place = striking.place(striking.start + number * beat_s)
            assert place is not None
            if place.counting:
                continue
            struck = striking.start + number * beat_s + r.gauss(self.habit_ms, self.beat_scatter_ms) / 1000
            struck += beat_s / 2 * (r.random() < self.astray)
            roll = 0.06 * (r.random() < self.rolled)
            for order, string in enumerate(striking.groups[place.group]):
                if r.random() < self.missed:
                    continue
                at = struck + order * roll + (self.late_ms[string] + r.gauss(0, self.hand_scatter_ms)) / 1000
                at += r.uniform(0.03, 0.06) * (r.random() < self.clumsy)
                heard.append((at, string))
        return sorted(heard)

    def strokes(self, strings: int = 6) -> tuple[Stroke, ...]:
        """Return the strokes of one go."""
        striking = Striking(strings, 100.0)
        for at, string in self.play(striking):
            striking = striking.struck(at, string)
        return striking.strokes
