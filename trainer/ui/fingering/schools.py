"""Whose weights ways are compared by: one table; a row more is a school more on the bench."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from trainer.hand.reach import Hand

if TYPE_CHECKING:
    from trainer.hand.search.weights import Weights


@dataclass(frozen=True, slots=True)
class Weighed:
    """Weights, and what the player should know of them."""

    weights: Weights
    said: str = ""


@dataclass(frozen=True, slots=True)
class School:
    """One way to weigh what a hand does."""

    says: str
    """What a player is told of it."""
    weigh: Callable[[Path, Hand], Weighed]
    """Returns its weights for a player with this log and reach; takes a while. Raises ChangeoverError."""


def _shipped(name: str) -> Callable[[Path, Hand], Weighed]:
    def weigh(_: Path, __: Hand) -> Weighed:
        # Numpy comes with the search and is paid for by who searches.
        from trainer.hand.search.weights import SCHOOLS as SHIPPED

        return Weighed(SHIPPED[name]())

    return weigh


def _own(log: Path, hand: Hand) -> Weighed:
    from trainer.hand.search.weights import plain
    from trainer.log.hands import read_model
    from trainer.practice.timemodel.weights import own_weights
    from trainer.practice.timemodel.words import standing

    model = read_model(log, hand)
    weights = own_weights(model)
    if weights is None:
        return Weighed(plain(), f"Of your own times: {standing(model)}; so these are any hand's weights.")
    return Weighed(weights, f"Your own weights: {standing(model)}.")


SCHOOLS = MappingProxyType(
    {
        "hand": School("any hand", _shipped("hand")),
        "editions": School("as editions print", _shipped("editions")),
        "mine": School("your own times", _own),
    }
)
"""Every school by name, the one to begin with first."""
