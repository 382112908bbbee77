"""The tempo ladder: a tempo that follows the player by a published rule, and what its tries say of a change.

Transformed up-down rule (Levitt, Transformed Up-Down Methods in Psychoacoustics, Journal of the Acoustical Society of
America 49, 1971): so many clean in a row and the next try is faster, one that was not and it is slower. Up and down
balance where p^n = 1/2 for n clean in a row, so three lead to the tempo that is clean in 79.4 % of tries.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import groupby
from typing import TYPE_CHECKING

from trainer.practice.tempo import FASTEST, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

GOOD = 0.8
"""Clean four times in five: the share whose tempo is estimated."""
LAPSES = 0.02
"""Share of tries that fail at any tempo, however slow (from memory; 1 to 5 % is usual for such curves)."""
NEWEST = 60
"""The estimate looks at this many newest tries: long enough to tell, short enough to be about today's hands."""
FEWEST_TURNS = 4
"""No estimate before the ladder has turned so often (ours, no source: two turns up and two down)."""
_STEEPNESS = tuple(math.log(9) / math.log(1 + part) for part in (0.05, 0.1, 0.2, 0.4, 0.8))
"""How fast clean turns into unclean: from 1 in 10 missed to 9 in 10 within twice this part more tempo."""
_GRID = 160
"""Tempi looked at between the slowest and the fastest, evenly spaced as ratios: 1.6 % apart."""


@dataclass(frozen=True, slots=True)
class Rule:
    """How the tempo follows."""

    clean: int = 3
    """So many clean in a row and it rises."""
    steps: tuple[float, ...] = (1.16, 1.08, 1.04, 1.02)
    """Factor of a step; each turn of the ladder goes on to the next, the last one stays (common practice)."""
    patience: int = 2
    """Steps one way before they widen again, one factor at a time: an early slip must not make the way up endless."""
    settled: int = 8
    """So many turns and they widen no more: from there on it is Levitt's rule with one step, which converges."""

    @property
    def converges_at(self) -> float:
        """The share of clean tries at which up and down balance: p^n = 1/2."""
        return float(0.5 ** (1 / self.clean))


@dataclass(frozen=True, slots=True)
class Try:
    """One try of a change in tempo."""

    tempo: float
    """Beats per minute."""
    clean: bool
    """Whether it was clean."""
    day: int = 0
    """Number of the day where the player is, any day being 0; tells days apart."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """A ladder under way."""

    tempo: float
    """Beats per minute of the next try, a whole number."""
    top: float = FASTEST
    """The highest rung: the target, which is held and not passed."""
    rule: Rule = field(default_factory=Rule)
    """How it follows."""
    streak: int = 0
    """How many clean since the tempo last moved."""
    rising: bool | None = None
    """Which way it moved last; None before it has."""
    moves: int = 0
    """How many times it moved that way in a row."""
    turns: tuple[float, ...] = ()
    """The tempo at each turn from up to down or down to up, oldest first."""
    tries: tuple[Try, ...] = ()
    """Every try, oldest first."""

    @property
    def step(self) -> float:
        """The factor by which it moves next."""
        shrunk = min(len(self.turns), len(self.rule.steps) - 1)
        again = 0 if len(self.turns) >= self.rule.settled else max(self.moves - self.rule.patience, 0)
        return self.rule.steps[max(shrunk - again, 0)]

    def after(self, clean: bool, day: int = 0) -> Ladder:
        """Return the ladder after one try at its tempo."""
        tried = replace(self, tries=(*self.tries, Try(self.tempo, clean, day)))
        if not clean:
            return _moved(tried, rising=False)
        if self.streak + 1 < self.rule.clean:
            return replace(tried, streak=self.streak + 1)
        return _moved(tried, rising=True)


def start(tempo: float, top: float = FASTEST, rule: Rule | None = None) -> Ladder:
    """Return a ladder that begins at `tempo` and rises to `top` at most, both in beats per minute."""
    highest = float(min(max(top, SLOWEST), FASTEST))
    return Ladder(float(round(min(max(tempo, SLOWEST), highest))), highest, rule or Rule())


def _moved(ladder: Ladder, *, rising: bool) -> Ladder:
    turned = ladder.rising is not None and ladder.rising is not rising
    turns = (*ladder.turns, ladder.tempo) if turned else ladder.turns
    moves = ladder.moves + 1 if rising is ladder.rising else 1
    moved = replace(ladder, streak=0, rising=rising, moves=moves, turns=turns)
    # Whole beats per minute, so that tries meet again on the same rungs; one at least, so that a step is a step.
    if rising:
        tempo = min(float(max(round(ladder.tempo * moved.step), ladder.tempo + 1)), ladder.top)
    else:
        tempo = max(float(min(round(ladder.tempo / moved.step), ladder.tempo - 1)), SLOWEST)
    return replace(moved, tempo=tempo)


# What the tries say


@dataclass(frozen=True, slots=True)
class Estimate:
    """The tempo at which a change is clean four times in five, in beats per minute."""

    tempo: float
    """The median of what the tries allow."""
    low: float
    """With 80 % certainty it lies between this …"""
    high: float
    """… and this."""
    tries: int
    """How many tries it rests on."""

    @property
    def words(self) -> str:
        """The estimate in a few plain words: `clean four times in five at 72 (66 to 79)`."""
        return f"clean four times in five at {self.tempo:.0f} ({self.low:.0f} to {self.high:.0f})"


def estimate(ladder: Ladder) -> Estimate | None:
    """Return the tempo that is clean four times in five, from the ladder's newest tries; None where too few turned.

    Every tempo between the limits and several steepnesses are weighed by how well a logistic curve over the logarithm
    of the tempo explains the tries (Bayes with an even prior on both); the curve takes the tries as alike, which a
    player who learns while playing is not quite: hence only the newest.
    """
    return None if len(ladder.turns) < FEWEST_TURNS else from_tries(ladder.tries[-NEWEST:])


def from_tries(tries: Iterable[Try]) -> Estimate:
    """Return what `tries` say of the tempo that is clean four times in five, however few they are."""
    counted = Counter((math.log(one.tempo), one.clean) for one in tries)
    low, high = math.log(SLOWEST), math.log(FASTEST)
    grid = [low + (high - low) * number / (_GRID - 1) for number in range(_GRID)]
    scores = [[_likelihood(counted, place, slope) for slope in _STEEPNESS] for place in grid]
    best = max(max(row) for row in scores)
    weights = [sum(math.exp(score - best) for score in row) for row in scores]
    middle, bottom, top = (math.exp(_weighted_quantile(grid, weights, part)) for part in (0.5, 0.1, 0.9))
    return Estimate(middle, bottom, top, counted.total())


def _share(x: float, good: float, slope: float) -> float:
    """Return the share of clean tries at a tempo, `good` being the one that is clean four times in five.

    Both as x = ln(tempo): (1 - lapses) / (1 + exp(s (x - x0))), x0 such that it is 0.8 at `good`; `slope` is s, per
    unit of x.
    """
    offset = math.log((1 - LAPSES) / GOOD - 1)
    return (1 - LAPSES) / (1 + math.exp(min(slope * (x - good) + offset, 500.0)))


def _likelihood(counted: Counter[tuple[float, bool]], good: float, slope: float) -> float:
    total = 0.0
    for (x, clean), times in counted.items():
        share = _share(x, good, slope)
        total += times * math.log(max(share if clean else 1 - share, 1e-12))
    return total


def _weighted_quantile(values: Sequence[float], weights: Sequence[float], part: float) -> float:
    """Return the quantile of ascending `values`, each standing for the stretch half-way to its neighbours."""
    wanted = sum(weights) * part
    passed = 0.0
    for value, weight in zip(values, weights, strict=True):
        if passed + weight >= wanted:
            width = values[1] - values[0]
            return value + width * ((wanted - passed) / weight - 0.5)
        passed += weight
    return values[-1]


# The target


class Standing(StrEnum):
    """How a change stands to its target tempo."""

    BELOW = "below"
    """Not yet clean so many times in a row at it."""
    REACHED = "reached"
    """So many clean in a row at it, on too few days to be sure that it stays."""
    HOLDS = "holds"
    """So many clean in a row at it on each of the newest days it was tried."""


@dataclass(frozen=True, slots=True)
class Target:
    """When a tempo counts as reached and as held; bounds the player may set."""

    tempo: float
    """Beats per minute."""
    in_a_row: int = 5
    """So many clean in a row, at this tempo or faster."""
    days: int = 2
    """On so many days."""


def standing(tries: Iterable[Try], target: Target) -> Standing:
    """Return how `tries`, oldest first, stand to `target`.

    A day counts for it where it had so many clean in a row and against it where it had as many tries and they were not;
    a day with fewer tries says nothing. Only the newest days that count decide, so what was held can be lost.
    """
    at_tempo = (one for one in tries if one.tempo >= target.tempo)
    days = [_in_a_row(list(day), target.in_a_row) for _, day in groupby(at_tempo, key=lambda one: one.day)]
    newest = [passed for passed in days if passed is not None][-target.days :]
    if len(newest) == target.days and all(newest):
        return Standing.HOLDS
    return Standing.REACHED if newest and newest[-1] else Standing.BELOW


def _in_a_row(day: Sequence[Try], wanted: int) -> bool | None:
    """Return whether a day had `wanted` clean in a row; None where it had too few tries to tell."""
    if len(day) < wanted:
        return None
    return any(clean and len(list(row)) >= wanted for clean, row in groupby(one.clean for one in day))
