"""A simulated player whose costs are known: what each feature really makes of the time of a change."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import permutations

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape
from trainer.hand.reach import Hand
from trainer.practice.drill import change_key
from trainer.practice.record import Series, Timing
from trainer.practice.timemodel.blocks import EARLY, NEWEST, past
from trainer.practice.timemodel.features import FAMILIAR, FEATURES, Vector, features
from trainer.practice.timemodel.model import Known, TimeModel, learn

KIND = Series("", Timing.LEAVE, "keys")
GUITAR = Instrument()
HIGH = (
    "5/1 7/3 7/4 6/2 5/1 5/1",
    "x 7/1 9/3 9/4 8/2 7/1",
    "x 5/2 4/1 7/4 5/3 x",
    "x x 7/1 9/3 10/4 9/2",
    "8/2 x 7/1 9/3 x x",
)
"""Shapes up the neck (ours), for shifts and stretches that the stock has few of."""
SHAPES = tuple(parse_shape(text) for text in (*STOCK.values(), *HIGH))
COSTS = {
    "guide": 0.02,
    "kept": -0.06,
    "cross": 0.10,
    "place": 0.05,
    "shift": 0.12,
    "laid": 0.22,
    "raised": 0.04,
    "stretch": 0.06,
    "squeak": 0.03,
    FAMILIAR: -0.08,
}
"""One player's, in the logarithm of time."""


def vector(before: Shape, after: Shape) -> Vector:
    found = features(before, after, GUITAR, Hand())
    assert found is not None
    return found


CHANGES = tuple((change_key(GUITAR, a, b), vector(a, b)) for a, b in permutations(SHAPES, 2))
"""Every change between two of the shapes, with its features."""


@dataclass
class Player:
    """Times come from the costs, something of each change's own, scatter, and slips that take twice as long."""

    chance: random.Random
    costs: Mapping[str, float] = field(default_factory=lambda: dict(COSTS))
    base_ms: float = 620.0
    own: float = 0.10
    scatter: float = 0.15
    slips: float = 0.05
    peculiar: dict[str, float] = field(default_factory=dict)

    def usual(self, key: str, vector: Vector, number: int) -> float:
        """Return the logarithm of the time that a change usually takes at a try."""
        own = self.peculiar.setdefault(key, self.chance.gauss(0, self.own))
        paid = sum(self.costs[name] * amount for name, amount in zip(FEATURES, vector, strict=True))
        return math.log(self.base_ms) + paid + self.costs[FAMILIAR] * math.log2(number) + own

    def time(self, key: str, vector: Vector, number: int) -> float:
        slip = 2.0 if self.chance.random() < self.slips else 1.0
        return slip * math.exp(self.usual(key, vector, number) + self.chance.gauss(0, self.scatter))

    def known(self, key: str, vector: Vector, tries: int) -> Known:
        """Play a change so often and return what the model takes from it."""
        times = [self.time(key, vector, number + 1) for number in range(tries)]
        found = past(KIND, times[:EARLY], times[-NEWEST:], tries)
        assert found is not None
        return Known(key, vector, found.blocks)

    def model(self, changes: int, *, fewest: int = 8, most: int = 200) -> TimeModel:
        """Practise so many changes chosen by chance, each so often, and learn from them."""
        chosen = self.chance.sample(CHANGES, changes)
        return learn(
            KIND,
            [
                self.known(key, vector, round(math.exp(self.chance.uniform(math.log(fewest), math.log(most)))))
                for key, vector in chosen
            ],
        )
