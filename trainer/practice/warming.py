"""A warm-up under way: which part it is in and when that changes next, and which shape is held on which beat."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from trainer.practice.course import Pair, held_at
from trainer.practice.drill import Drill
from trainer.practice.warmup import Kind, Part


@dataclass(frozen=True, slots=True)
class Place:
    """Where a warm-up is."""

    index: int
    """Which part, from 0."""
    part: Part
    """The part."""
    into: float
    """Seconds of it that are over."""
    left: float
    """Seconds of the whole warm-up that are left."""

    @property
    def part_left(self) -> float:
        """Seconds of the part that are left."""
        return self.part.seconds - self.into


@dataclass(frozen=True, slots=True)
class Held:
    """What the hand does on a beat of a drill."""

    pair: Pair
    """The change at hand: from the shape that is held."""
    beat: int
    """Which beat of the shape, or of the bar that is counted in, from 1."""
    beats: int
    """How many it has."""
    counting: bool
    """True in the bar before the first shape."""


@dataclass(frozen=True, slots=True)
class Warming:
    """A warm-up that goes on, rests, and is over when its time is."""

    parts: tuple[Part, ...]
    """Its parts, in order."""
    elapsed: float = 0.0
    """Seconds that were over at the last moment it was set going or stopped."""
    since: float | None = None
    """The moment it was set going, monotonic seconds; None where it stands still."""

    @property
    def going(self) -> bool:
        """True where its time runs."""
        return self.since is not None

    @property
    def total(self) -> int:
        """Seconds in all."""
        return sum(part.seconds for part in self.parts)

    def over(self, now: float) -> float:
        """Return how many seconds of it are over."""
        running = 0.0 if self.since is None else max(now - self.since, 0.0)
        return min(self.elapsed + running, float(self.total))

    def place(self, now: float) -> Place | None:
        """Return where it is; None when it is over."""
        over = self.over(now)
        begins = 0
        for index, part in enumerate(self.parts):
            if over < begins + part.seconds:
                return Place(index, part, over - begins, self.total - over)
            begins += part.seconds
        return None

    def go(self, now: float) -> Warming:
        """Return it going on; one that is over stays so."""
        return self if self.going or self.place(now) is None else replace(self, since=now)

    def rest(self, now: float) -> Warming:
        """Return it standing still."""
        return replace(self, elapsed=self.over(now), since=None)

    def skip(self, now: float) -> Warming:
        """Return it at the beginning of the next part."""
        place = self.place(now)
        if place is None:
            return self
        ends = list(accumulate(part.seconds for part in self.parts))
        return replace(self, elapsed=float(ends[place.index]), since=now if self.going else None)

    def next_moment(self, now: float) -> float | None:
        """Return when there is something new to show: a second, a part; None where nothing comes by itself."""
        place = self.place(now)
        if place is None or self.since is None:
            return None
        return now + max(min(math.floor(place.into) + 1.0, float(place.part.seconds)) - place.into, 1e-3)


def held(beat: int, drill: Drill) -> Held:
    """Return what the hand does on a beat of `drill`, from 0: a bar counted in, then its shapes round and round.

    Where a round does not lead back by itself, the change from its last shape is the way back to the first.
    """
    bar = drill.meter[0]
    if beat < bar:
        return Held((0, 1), beat + 1, bar, counting=True)
    lengths = drill.lengths
    shape, since = held_at(lengths, Fraction(beat - bar) % sum(lengths)) or (0, Fraction(0))
    after = (shape + 1) % len(lengths)
    return Held((shape, after), math.floor(since) + 1, max(math.ceil(lengths[shape]), 1), counting=False)


def following(parts: Sequence[Part], index: int) -> Part | None:
    """Return the next part after `index` that is played; None where none is."""
    return next((part for part in parts[index + 1 :] if part.kind is Kind.PLAY), None)
