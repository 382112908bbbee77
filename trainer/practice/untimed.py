"""Changes that were never timed, as the plan sees them: how long this hand will take is told by its time model."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from trainer.practice.drill import change_key
from trainer.practice.plan import VISIT, Look, unseen
from trainer.practice.timemodel.features import features

if TYPE_CHECKING:
    from trainer.fretboard.shape import Shape
    from trainer.hand.reach import Hand
    from trainer.practice.drill import Drill
    from trainer.practice.timemodel.model import TimeModel


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

    A time is predicted as it will be at the end of the first visit. Nothing is yielded for a hand of which too little
    is known, nor for a change whose fingers are not given.
    """
    if not model.enough:
        return
    for key, one in changes.items():
        found = features(one.before, one.after, one.drill.instrument, hand)
        if found is not None:
            series = replace(model.kind, change=key)
            yield unseen(series, model.predict(found, VISIT), today, target, one.drill.title)
