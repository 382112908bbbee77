"""Which changes a run goes through, in which order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise
from typing import TypeAlias

from trainer.errors import ChangeoverError, wrong
from trainer.practice.drill import Drill, Segment

Pair: TypeAlias = tuple[int, int]
"""A change: index of the shape left and of the shape reached among the drill's steps."""

MOST_PACED = 9
"""A paced run has no more changes than one digit can answer for."""
FINEST = 12
"""Most ticks in a beat (halves, thirds and quarters are exact); a shape that begins between two waits for the next."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One change of a run."""

    pair: Pair
    """The change."""
    round: int
    """The round it belongs to, counted from 1."""
    counted: bool = True
    """False for the way back to a change that does not start where the last one ended."""


@dataclass(frozen=True, slots=True)
class Course:
    """The changes of a run: one round of them, several times over."""

    pairs: tuple[Pair, ...]
    """One round."""
    rounds: int
    """How many."""
    lengths: tuple[Fraction, ...]
    """How many beats each of the drill's shapes lasts."""
    bar: int = 4
    """Beats in a bar."""
    tempo: float = 60.0
    """Beats per minute to begin with."""

    def __post_init__(self) -> None:
        """Refuse a course that goes nowhere."""
        if not self.pairs:
            raise wrong("no change to practise", hint="a drill needs at least two shapes")
        if self.rounds < 1:
            raise wrong(f"{self.rounds} rounds", hint="at least one")
        for before, after in self.pairs:
            if before == after or not {before, after} <= set(range(len(self.lengths))):
                raise _no_change(before, after, len(self.lengths))

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Every change, round after round."""
        return tuple(Leg(pair, number + 1) for number in range(self.rounds) for pair in self.pairs)

    @property
    def parts(self) -> int:
        """How many paced runs it takes to go through it."""
        return math.ceil(len(self.pairs) * self.rounds / MOST_PACED)

    def part(self, number: int) -> tuple[Leg, ...]:
        """Return the legs of paced run `number` (from 0), the ways back included; the runs are about equally long."""
        legs = self.legs
        first, last = (len(legs) * n // self.parts for n in (number, number + 1))
        return with_ways_back(legs[first:last])

    def lasting(self, legs: tuple[Leg, ...]) -> tuple[Fraction, ...]:
        """Return how many beats each shape lasts that is held in turn: one more than there are legs."""
        return tuple(self.lengths[shape] for shape in shapes_held(legs))

    def ticks_per_beat(self, legs: tuple[Leg, ...]) -> int:
        """Return into how many ticks a beat must be divided for every shape to begin on one; `FINEST` at most."""
        return min(math.lcm(*(length.denominator for length in self.lasting(legs))), FINEST)


def whole(drill: Drill, rounds: int | None = None) -> Course:
    """Return the whole drill in its own order; without `rounds`: two where a paced run has room for them, else one."""
    return _course(drill, drill.pairs, rounds)


def segment(drill: Drill, part: Segment, rounds: int | None = None) -> Course:
    """Return the changes within `part`, first to last; each further round begins with an untimed way back."""
    if not 1 <= part.first < part.last <= len(drill.steps):
        raise wrong(
            f"a segment from shape {part.first} to {part.last}",
            hint=f"at least two shapes, within 1 to {len(drill.steps)}",
        )
    return _course(drill, tuple(pairwise(range(part.first - 1, part.last))), rounds)


def back_and_forth(drill: Drill, first: int, second: int, rounds: int = 4) -> Course:
    """Return `rounds` times there and back between two shapes, given by their indices."""
    return _course(drill, ((first, second), (second, first)), rounds)


def one_change(drill: Drill, before: int, after: int, times: int = 8) -> Course:
    """Return one change `times` times over, given by its shapes' indices; the way back is untimed."""
    return _course(drill, ((before, after),), times)


def with_ways_back(legs: tuple[Leg, ...]) -> tuple[Leg, ...]:
    """Return `legs` with a leg that does not count wherever one does not start where the last one ended."""
    ways: list[Leg] = list(legs[:1])
    for last, leg in pairwise(legs):
        if last.pair[1] != leg.pair[0]:
            ways.append(Leg((last.pair[1], leg.pair[0]), leg.round, counted=False))
        ways.append(leg)
    return tuple(ways)


def shapes_held(legs: tuple[Leg, ...]) -> tuple[int, ...]:
    """Return the indices of the shapes held in turn along joined legs: one more than there are legs."""
    return tuple(chain((legs[0].pair[0],), (leg.pair[1] for leg in legs)))


def held_at(lengths: tuple[Fraction, ...], elapsed: Fraction) -> tuple[int, Fraction] | None:
    """Return which of the shapes held in turn is due `elapsed` beats after the first began, and the beats since it did.

    None once the last is over.
    """
    for index, length in enumerate(lengths):
        if elapsed < length:
            return index, elapsed
        elapsed -= length
    return None


def _course(drill: Drill, pairs: tuple[Pair, ...], rounds: int | None) -> Course:
    if rounds is None:
        rounds = 2 if 2 * len(pairs) <= MOST_PACED else 1
    return Course(pairs, rounds, drill.lengths, drill.meter[0], drill.tempo)


def _no_change(before: int, after: int, shapes: int) -> ChangeoverError:
    return wrong(
        f"no change from shape {before + 1} to {after + 1}", hint=f"two different shapes, within 1 to {shapes}"
    )
