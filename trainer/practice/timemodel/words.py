"""What a hand's time model says, in words: what costs this hand most, and how far it can be trusted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from trainer.practice.curve import Interval
from trainer.practice.timemodel.features import FAMILIAR
from trainer.practice.timemodel.model import ENOUGH, Calibration, Cost, TimeModel

NOT_ENOUGH = "not enough yet"


@dataclass(frozen=True, slots=True)
class Telling:
    """One thing worth telling of a hand."""

    amounts: Mapping[str, float]
    """So much of each feature; where one is less than nothing, it is told in place of what."""
    words: str
    """What it is, to stand before `adds` or `saves`."""


TELLINGS = (
    Telling({"laid": 1}, "laying a barre"),
    Telling({"raised": 1}, "raising a barre"),
    Telling({"guide": 1, "cross": -1}, "a guide finger, in place of one that crosses,"),
    Telling({"kept": 1, "place": -1}, "a finger that stays, in place of one placed from the air,"),
    Telling({"cross": 1}, "a finger that crosses to another string"),
    Telling({"place": 1}, "a finger placed from the air"),
    Telling({"shift": 1}, "a shift by one fret"),
    Telling({"stretch": 1}, "a stretch by a tenth of your reach"),
    Telling({"squeak": 1}, "a slide along a wound string"),
    Telling({FAMILIAR: 1}, "twice as many tries"),
)
"""All that is told. A shift by one fret, whose way is as long as the fret has room, is one bit (`features`)."""


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that is told of a hand."""

    words: str
    """What it is."""
    cost: Cost
    """What it costs this hand."""

    @property
    def sentence(self) -> str:
        """The same with its numbers: `laying a barre adds about 180 ms (120 to 240)`."""
        return f"{self.words} {_amount(self.cost.ms)}"


def told(model: TimeModel) -> tuple[Told, ...]:
    """Return what can be said of a hand, what weighs most first.

    Said is only what its times have taught and what is surely more or less than nothing, by an 80 % interval.
    """
    every = (Told(telling.words, model.cost(telling.amounts)) for telling in TELLINGS)
    return tuple(sorted((one for one in every if one.cost.told), key=lambda one: -abs(one.cost.ms.middle)))


def standing(model: TimeModel) -> str:
    """Return how far the model has come where it has nothing to tell, else what it was learned from."""
    changes = "1 change" if model.count == 1 else f"{model.count} changes"
    if not model.enough:
        return f"{NOT_ENOUGH}: {changes} timed one way and tried often enough, of {ENOUGH}"
    return f"learned from {changes}"


def trusted(found: Calibration) -> str:
    """Return how the intervals held: `80 % intervals held 78 % of 41 changes left out`."""
    share = round(100 * found.held / found.changes) if found.changes else 0
    return f"80 % intervals held {share} % of {found.changes} changes left out"


def _amount(ms: Interval) -> str:
    verb = "adds" if ms.middle > 0 else "saves"
    low, high = sorted((round(abs(ms.low)), round(abs(ms.high))))
    return f"{verb} about {round(abs(ms.middle)):,} ms ({low:,} to {high:,})"
