"""What a hand's time model says, in words: what costs this hand most, and how far it can be trusted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from trainer.counts import plural
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
    short: str
    """The same in a column."""


TELLINGS = (
    Telling({"laid": 1}, "laying a barre", "barre laid"),
    Telling({"raised": 1}, "raising a barre", "barre raised"),
    Telling({"guide": 1, "cross": -1}, "a guide finger, in place of one that crosses,", "guide, not cross"),
    Telling({"kept": 1, "place": -1}, "a finger that stays, in place of one from the air,", "kept, not placed"),
    Telling({"cross": 1}, "a finger that crosses to another string", "cross"),
    Telling({"place": 1}, "a finger placed from the air", "placed"),
    Telling({"shift": 1}, "a shift by one fret", "shift by a fret"),
    Telling({"stretch": 1}, "a stretch by a tenth of your reach", "stretch, a tenth"),
    Telling({"squeak": 1}, "a slide along a wound string", "wound string"),
    Telling({FAMILIAR: 1}, "twice as many tries", "tries doubled"),
)
"""All that is told. A shift by one fret, whose way is as long as the fret has room, is one bit (`features`)."""


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that is told of a hand."""

    telling: Telling
    """What it is."""
    cost: Cost
    """What it costs this hand."""

    @property
    def sentence(self) -> str:
        """It with its numbers: `laying a barre adds about 180 ms (120 to 240)`."""
        return f"{self.telling.words} {self.amount}"

    @property
    def amount(self) -> str:
        """Its numbers alone: `adds about 180 ms (120 to 240)`."""
        ms = self.cost.ms
        verb = "adds" if ms.middle > 0 else "saves"
        low, high = sorted((round(abs(ms.low)), round(abs(ms.high))))
        return f"{verb} about {round(abs(ms.middle)):,} ms ({low:,} to {high:,})"


def told(model: TimeModel) -> tuple[Told, ...]:
    """Return what can be said of a hand, what weighs most first.

    Said is only what its times have taught and what is surely more or less than nothing, by an 80 % interval.
    """
    every = (Told(telling, model.cost(telling.amounts)) for telling in TELLINGS)
    return tuple(sorted((one for one in every if one.cost.told), key=lambda one: -abs(one.cost.ms.middle)))


def standing(model: TimeModel) -> str:
    """Return how far the model has come where it has nothing to tell, else what it was learned from."""
    changes = plural(model.count, "change")
    if not model.enough:
        return f"{NOT_ENOUGH}: {changes} timed one way and tried often enough, of {ENOUGH}"
    return f"learned from {changes}"


def trusted(found: Calibration) -> str:
    """Return how the intervals held: `80 % intervals held 78 % of 41 changes left out`."""
    share = round(100 * found.held / found.changes) if found.changes else 0
    return f"80 % intervals held {share} % of {found.changes} changes left out"
