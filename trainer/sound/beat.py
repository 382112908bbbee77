"""When each click comes, to the frame: exact fractions, so that no click drifts however long the beat runs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import IntEnum
from fractions import Fraction
from typing import TypeAlias

LEAD_S = 0.1
"""The first click of a beat comes so long after it was asked for: enough for what is already on its way to the ear."""

Moments: TypeAlias = Callable[[Fraction], float]
"""From a number of beats after the first tick to the monotonic second at which that is heard, as far as known now."""


class Weight(IntEnum):
    """How a tick sounds."""

    SILENT = 0
    """Not at all: the player's own pulse is tested."""
    PART = 1
    """A part of a beat."""
    BEAT = 2
    """A beat."""
    ACCENT = 3
    """An accented beat."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a bar of clicks is like. Ticks are counted from 0 at the first beat of the count-in."""

    beats: int = 4
    """Beats in a bar."""
    accents: tuple[int, ...] = (1,)
    """The accented beats, from 1."""
    per_beat: int = 1
    """Ticks in a beat: 1 for beats alone, 2 for halves, and so on."""
    count_in: int = 1
    """Bars counted in; they are never silent."""
    silent_every: int = 0
    """After the count-in, each bar of this number is silent: 2 for every other bar; 0 for none."""

    @property
    def ticks(self) -> int:
        """How many ticks a bar has."""
        return self.beats * self.per_beat

    def weight(self, tick: int) -> Weight:
        """Return how a tick sounds."""
        bar, within = divmod(tick, self.ticks)
        played = bar - self.count_in
        if self.silent_every and played >= 0 and (played + 1) % self.silent_every == 0:
            return Weight.SILENT
        beat, part = divmod(within, self.per_beat)
        if part:
            return Weight.PART
        return Weight.ACCENT if beat + 1 in self.accents else Weight.BEAT


@dataclass(frozen=True, slots=True)
class Click:
    """One tick in its place."""

    tick: int
    """Its number, from 0."""
    frame: int
    """The frame it begins in."""
    weight: Weight
    """How it sounds."""


@dataclass(frozen=True, slots=True)
class Train:
    """A beat without end: where every tick lies in the sample stream."""

    rate: int
    """Frames a second."""
    pattern: Pattern
    """What a bar is like."""
    tempo: Fraction
    """Beats per minute from tick `since` on."""
    start: Fraction = Fraction(0)
    """The frame of tick `since`, not rounded."""
    since: int = 0
    """The first tick that is told of: after a change of tempo the one it changes at."""

    @property
    def frames_per_tick(self) -> Fraction:
        """How far two ticks lie apart, not rounded."""
        return Fraction(60 * self.rate) / (self.tempo * self.pattern.per_beat)

    def frame(self, tick: int) -> int:
        """Return the frame nearest to a tick."""
        return math.floor(self._exact(tick) + Fraction(1, 2))

    def place(self, beats: Fraction) -> Fraction:
        """Return the frame, not rounded, that lies so many beats after tick `since`."""
        return self.start + beats * self.pattern.per_beat * self.frames_per_tick

    def click(self, tick: int) -> Click:
        """Return a tick in its place."""
        return Click(tick, self.frame(tick), self.pattern.weight(tick))

    def clicks(self, first: int, end: int) -> Iterator[Click]:
        """Yield every tick that begins in the frames from `first` up to `end`, that one not included."""
        tick = max(math.floor((first - self.start) / self.frames_per_tick) + self.since, self.since)
        while (click := self.click(tick)).frame < end:
            if click.frame >= first:
                yield click
            tick += 1

    def changed(self, tick: int, tempo: float) -> Train:
        """Return the beat with another tempo from `tick` on, which stays in its place; no earlier one is told of."""
        return replace(self, tempo=exact(tempo), start=self._exact(tick), since=tick)

    def _exact(self, tick: int) -> Fraction:
        return self.start + (tick - self.since) * self.frames_per_tick


def train(tempo: float, rate: int, pattern: Pattern | None = None, start: int = 0) -> Train:
    """Return the beat at `tempo` beats per minute whose first tick is at frame `start`."""
    return Train(rate, pattern or Pattern(), exact(tempo), Fraction(start))


def exact(tempo: float) -> Fraction:
    """Return a tempo as the fraction that is meant by it: to a thousandth of a beat per minute."""
    return Fraction(round(tempo * 1000), 1000)
