"""What a change has that costs a hand time: one table of features, each with what a hand is taken to pay at first.

The model is of the logarithm of a time, so every feature makes a change longer or shorter by a factor. What is taken
to hold before anything was timed comes from the plain weights of `hand.search.weights`: one unit of cost is taken to
lengthen a change by `UNIT` (ours, no source). A feature that pays several terms there says how its unit was reckoned.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from types import MappingProxyType
from typing import TypeAlias

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Action, BarreAction, Change, Move
from trainer.hand.reach import Hand

Vector: TypeAlias = tuple[float, ...]
"""One number for each of `COEFFICIENTS`, in that order."""

UNIT = 0.08
"""Natural logarithm of the factor by which one unit of cost lengthens a change."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing that a change has more or less of."""

    unit: str
    """What one of it is."""
    cost: float
    """What one is taken to cost before anything was timed, in units of the plain weights."""
    doubt: float
    """How far that may be off: a standard deviation, in the logarithm of time (ours, no source)."""
    terms: Mapping[str, float]
    """From which terms of the plain weights, and how much of each, `cost` is added up; empty where there is none."""
    of: Callable[[Change, Instrument, Hand], float]
    """How much of it a change has."""


def _count(action: Action) -> Callable[[Change, Instrument, Hand], float]:
    return lambda change, *_: float(len(change.doing(action)))


def _barres(action: BarreAction) -> Callable[[Change, Instrument, Hand], float]:
    return lambda change, *_: float(sum(action in barre.actions for barre in change.barres))


def _arriving(change: Change, *, placed: bool) -> list[Move]:
    moves = (*change.doing(Action.PLACE), *change.doing(Action.CROSS), *change.doing(Action.SWAP))
    return [move for move in moves if (move.start is None) is placed]


def _shift(change: Change, instrument: Instrument, _: Hand) -> float:
    """Return Fitts's index of difficulty of the hand's shift in bits: log2(D/W + 1).

    In Shannon's form (MacKenzie, Human-Computer Interaction 7, 1992). D is how far the hand goes, W the room of the
    fret where finger 1 comes to lie.
    """
    position = change.positions[1]
    if change.shift is None or position is None or not change.shift.frets:
        return 0.0
    room = instrument.fret_mm(position) - instrument.fret_mm(position - 1)
    return math.log2(abs(change.shift.mm) / room + 1)


def _stretch(change: Change, instrument: Instrument, hand: Hand) -> float:
    """Return how far the fingers of the new shape lie apart beyond comfort, in tenths of the reach of fingers 1 to 4.

    Along the neck, over all pairs of fingers, as in `hand.search.costs`.
    """
    placed = sorted(change.after.placings.items())
    beyond = 0.0
    for (finger, one), (other, two) in combinations(placed, 2):
        apart = abs(instrument.point(*one.place)[0] - instrument.point(*two.place)[0])
        beyond += max(apart - hand.comfort(finger, other), 0.0)
    return 10 * beyond / hand.comfort(1, 4)


FEATURES: Mapping[str, Feature] = MappingProxyType(
    {
        "guide": Feature("finger that slides along its string", 0.2, 0.15, {"guide": 1.0}, _count(Action.GUIDE)),
        "kept": Feature("finger that stays down", -0.5, 0.15, {"keep": 1.0}, _count(Action.KEPT)),
        # The plain weights count a cross by 1 / (1/2 + quarter notes of time): half a quarter note is taken.
        "cross": Feature(
            "finger to another string",
            0.5,
            0.15,
            {"cross": 1.0},
            lambda change, *_: float(len(_arriving(change, placed=False))),
        ),
        "place": Feature(
            "finger placed from the air",
            0.4,
            0.15,
            {"place": 1.0},
            lambda change, *_: float(len(_arriving(change, placed=True))),
        ),
        # A shift by one reach of 100 mm to where a fret has 30 mm of room is 2.1 bits, and costs 0.9 + 1.2.
        "shift": Feature("bit of a shift", 1.0, 0.15, {"shift": 1 / 2.1, "shift far": 1 / 2.1}, _shift),
        "laid": Feature("barre laid", 1.7, 0.15, {"barre": 1.0}, _barres(BarreAction.LAID)),
        "raised": Feature("barre raised", 0.0, 0.15, {}, _barres(BarreAction.RAISED)),
        "stretch": Feature("tenth of the reach beyond comfort", 0.8, 0.1, {"stretch": 0.1}, _stretch),
        "squeak": Feature(
            "slide along a wound string", 0.15, 0.15, {"squeak": 1.0}, lambda change, *_: float(len(change.squeaks))
        ),
    }
)
"""What a change is made of, by name."""

BASE, FAMILIAR = "base", "familiar"
COEFFICIENTS = (BASE, *FEATURES, FAMILIAR)
"""What the model has a number for: the time of a change without anything, each feature, and familiarity, which is the
logarithm to base 2 of the number of the try."""
FIRST = (math.log(700.0), *(feature.cost * UNIT for feature in FEATURES.values()), -0.1)
"""What each coefficient is taken to be before anything was timed: 700 ms, the costs above, a tenth less for each
doubling of tries (ours, no source)."""
DOUBT = (1.0, *(feature.doubt for feature in FEATURES.values()), 0.1)
"""How far each may be off: standard deviations."""


@lru_cache(maxsize=4096)
def features(before: Shape, after: Shape, instrument: Instrument, hand: Hand) -> Vector | None:
    """Return how much of each feature the change has, in the order of `FEATURES`; None where a finger is not given.

    Raises ChangeoverError where a shape does not fit the instrument.
    """
    return of_change(analyse(before, after, instrument, hand), instrument, hand)


def of_change(change: Change, instrument: Instrument, hand: Hand) -> Vector | None:
    """Return the same of a change that is analysed already."""
    if change.doing(Action.UNKNOWN):
        return None
    return tuple(feature.of(change, instrument, hand) for feature in FEATURES.values())
