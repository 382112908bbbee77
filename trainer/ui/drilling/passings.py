"""Any change between two shapes of a drill, analysed when it is first asked for."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from trainer.hand.reach import Hand
from trainer.practice.drill import Drill, Order, change_key
from trainer.practice.passage import Passing, passage

if TYPE_CHECKING:
    from trainer.practice.course import Pair


class Passings:
    """The changes of one drill, ways back among them."""

    def __init__(self, drill: Drill, hand: Hand) -> None:
        """Analyse nothing yet."""
        self._drill = drill
        self._hand = hand
        self._known: dict[Pair, Passing] = {}

    def __getitem__(self, pair: Pair) -> Passing:
        """Return the change between two shapes, given by their indices."""
        if pair not in self._known:
            steps = tuple(self._drill.steps[index] for index in pair)
            self._known[pair] = passage(replace(self._drill, steps=steps, order=Order.ONCE, segments=()), self._hand)[0]
        return self._known[pair]

    @property
    def keys(self) -> frozenset[str]:
        """What the log knows the drill's changes by, each there and back."""
        shapes = [step.shape for step in self._drill.steps]
        both = (pair for before, after in self._drill.pairs for pair in ((before, after), (after, before)))
        return frozenset(change_key(self._drill.instrument, shapes[before], shapes[after]) for before, after in both)
