"""A drill before a class: which change is at hand, how much of it is shown, and where the beat is. Values only.

A room plays in rounds: one bar is counted in, then the shapes of the part at hand are held in turn, each for its beats.
Whoever runs it sends a tick `per_beat` times a beat while it plays; nothing else moves it but a person.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from trainer.practice.course import Course, Leg, held_at, with_ways_back
from trainer.ring import turned

if TYPE_CHECKING:
    from trainer.practice.course import Pair
    from trainer.practice.drill import Drill


class Scope(StrEnum):
    """How much of the drill one round plays."""

    CHANGE = "one change"
    SEGMENT = "segment"
    """One of the drill's segments; left out where it has none."""
    WHOLE = "whole drill"


class Show(StrEnum):
    """What of a change is drawn."""

    BOTH = "shape and movement"
    SHAPE = "shape only"
    MOVEMENT = "movement only"
    """Fingers that stay are left out."""


class Phase(StrEnum):
    """Where a round stands."""

    READY = "ready"
    """The change stands still, nothing sounds."""
    PLAYING = "playing"
    """The beat goes."""
    FROZEN = "frozen"
    """The beat was stopped in the middle; it goes on at the shape where it stopped."""
    OVER = "over"
    """The round was played to its end."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one round plays."""

    name: str
    """Shown: `change 2 of 4`, or what the segment is called."""
    pairs: tuple[Pair, ...]
    """Its changes, in order."""


@dataclass(frozen=True, slots=True)
class Moment:
    """What is due now."""

    leg: int
    """Which change of the part it is, ways back counted, from 0."""
    arrived: bool
    """True while the last shape is held: there is no change left to come."""
    counting: bool
    """True while the bar is counted in."""
    beat: int
    """Which beat of the bar counted in, or of the shape held, from 1; 0 where no beat goes."""
    beats: int
    """How many there are."""


def parts(drill: Drill, scope: Scope) -> tuple[Part, ...]:
    """Return what the rounds of `scope` play one after the other; empty for the segments of a drill without any."""
    count = len(drill.pairs)
    match scope:
        case Scope.CHANGE:
            return tuple(Part(f"change {number} of {count}", (pair,)) for number, pair in enumerate(drill.pairs, 1))
        case Scope.SEGMENT:
            return tuple(Part(one.name, tuple(pairwise(range(one.first - 1, one.last)))) for one in drill.segments)
        case Scope.WHOLE:
            return (Part(str(scope), drill.pairs),)


@dataclass(frozen=True, slots=True)
class Room:
    """A drill before a class, as it stands."""

    drill: Drill
    """What is played."""
    scope: Scope = Scope.CHANGE
    """How much of it a round plays."""
    number: int = 0
    """Which of the scope's parts is at hand, from 0."""
    phase: Phase = Phase.READY
    """Where the round stands."""
    ticks: int = -1
    """Which tick it was last, the first of the count-in being 0; -1 before it."""
    begun: int = 0
    """The shape held at the count-in, an index among those held in turn; 0 unless a frozen round goes on."""
    show: Show = Show.BOTH
    """What of a change is drawn."""
    hidden: bool = False
    """True: nothing but the names: the class plays from memory."""
    both_hands: bool = False
    """True: drawn twice, for right- and for left-handed players."""

    @property
    def part(self) -> Part:
        """What is at hand."""
        return parts(self.drill, self.scope)[self.number]

    @property
    def course(self) -> Course:
        """What a round of the part at hand goes through."""
        return Course(self.part.pairs, 1, self.drill.lengths, self.drill.meter[0], self.drill.tempo)

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Its changes, with the ways back that join them."""
        return with_ways_back(self.course.legs)

    @property
    def per_beat(self) -> int:
        """Ticks in a beat: 1 unless a shape begins between beats."""
        return self.course.ticks_per_beat(self.legs)

    @property
    def moment(self) -> Moment:
        """What is due at the last tick."""
        bar = self.drill.meter[0]
        if self.ticks < 0 or self.phase is Phase.READY:
            return Moment(self._leg(self.begun), arrived=False, counting=False, beat=0, beats=bar)
        elapsed = Fraction(self.ticks, self.per_beat)
        if elapsed < bar:
            return Moment(self._leg(self.begun), arrived=False, counting=True, beat=int(elapsed) + 1, beats=bar)
        held = held_at(self._lengths[self.begun :], elapsed - bar)
        if held is None:
            return Moment(len(self.legs) - 1, arrived=True, counting=False, beat=0, beats=bar)
        shape, since = self.begun + held[0], held[1]
        beats = math.ceil(self._lengths[shape])
        return Moment(self._leg(shape), shape == len(self.legs), counting=False, beat=int(since) + 1, beats=beats)

    def go(self) -> Room:
        """Return the room at the beginning of a round of the part at hand; what was played of one is dropped."""
        return replace(self, phase=Phase.PLAYING, ticks=-1, begun=0)

    def tick(self) -> Room:
        """Return the room one tick on; over where the last shape has been held for its beats."""
        if self.phase is not Phase.PLAYING:
            return self
        on = replace(self, ticks=self.ticks + 1)
        over = not on.moment.counting and on.moment.beat == 0
        return replace(self.stopped(), phase=Phase.OVER) if over else on

    def stopped(self) -> Room:
        """Return the room standing at the beginning of the part at hand."""
        return replace(self, phase=Phase.READY, ticks=-1, begun=0)

    def freeze(self) -> Room:
        """Return the room with the beat stopped where it is, or counted in again at the shape where it was stopped."""
        if self.phase is Phase.PLAYING:
            return replace(self, phase=Phase.FROZEN)
        if self.phase is not Phase.FROZEN:
            return self
        moment = self.moment
        return replace(self, phase=Phase.PLAYING, ticks=-1, begun=moment.leg + moment.arrived)

    def moved(self, by: int) -> Room:
        """Return the room at the part that is `by` further on, round from the last to the first."""
        return replace(self.stopped(), number=(self.number + by) % len(parts(self.drill, self.scope)))

    def other_scope(self) -> Room:
        """Return the room with more of the drill in a round, or again one change, beginning at the change at hand."""
        scopes = [scope for scope in Scope if parts(self.drill, scope)]
        scope = turned(scopes, self.scope)
        here = self.legs[self.moment.leg].pair
        number = next((n for n, part in enumerate(parts(self.drill, scope)) if here in part.pairs), 0)
        return replace(self.stopped(), scope=scope, number=number)

    def other_show(self) -> Room:
        """Return the room with something else of the change drawn."""
        return replace(self, show=turned(tuple(Show), self.show))

    @property
    def _lengths(self) -> tuple[Fraction, ...]:
        return self.course.lasting(self.legs)

    def _leg(self, shape: int) -> int:
        """Return the change that leads away from a shape held; the last one for the last shape."""
        return min(shape, len(self.legs) - 1)
