"""Changes that were never timed, as the plan sees them: how long this hand will take is told by its time model."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from operator import mul
from typing import TYPE_CHECKING

from trainer.practice.drill import change_key
from trainer.practice.plan import MOST_NEW, VISIT, Look, unseen
from trainer.practice.timemodel.features import FEATURES, features

if TYPE_CHECKING:
    from trainer.fretboard.shape import Shape
    from trainer.hand.reach import Hand
    from trainer.practice.drill import Drill
    from trainer.practice.timemodel.model import TimeModel

CLOSELY = 2 * MOST_NEW
"""So many are looked at: a few more than are begun in one sitting."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """A change that waits in a drill."""

    drill: Drill
    """The first drill that has it."""
    before: Shape
    """The shape it leaves."""
    after: Shape
    """The shape it reaches."""


def waiting(drills: Iterable[Drill], known: Callable[[str], bool]) -> dict[str, Waiting]:
    """Return the changes of `drills` that are not `known` by their keys, each once and in the order they come."""
    found: dict[str, Waiting] = {}
    for drill in drills:
        for before, after in drill.changes:
            key = change_key(drill.instrument, before.shape, after.shape)
            if before.shape != after.shape and key not in found and not known(key):
                found[key] = Waiting(drill, before.shape, after.shape)
    return found


def predicted(
    changes: Mapping[str, Waiting], model: TimeModel, hand: Hand, today: int, target: float
) -> Iterator[Look]:
    """Yield what is known of each of `changes`, by their keys, as it would be timed in the way that `model` is of.

    Only of those that will take longest, so many as `CLOSELY` says. A time is predicted as it will be at the end of the
    first visit. Nothing is yielded for a hand of which too little is known, nor for a change whose fingers are not
    given.
    """
    if not model.enough:
        return
    costs = [model.coefficient(name) for name in FEATURES]
    found = {key: features(one.before, one.after, one.drill.instrument, hand) for key, one in changes.items()}
    known = {key: vector for key, vector in found.items() if vector is not None}
    for key in sorted(known, key=lambda key: -sum(map(mul, costs, known[key])))[:CLOSELY]:
        series = replace(model.kind, change=key)
        yield unseen(series, model.predict(known[key], VISIT), today, target, changes[key].drill.title)
