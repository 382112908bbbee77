"""A drill seen as a passage: each of its changes analysed and put in words."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import Hand
from trainer.hand.words import describe
from trainer.practice.drill import Drill, Step, change_key


@dataclass(frozen=True, slots=True)
class Passing:
    """One change of a drill with all that is known of it before it is played."""

    before: Step
    """The step that is left."""
    after: Step
    """The step that is reached."""
    change: Change
    """What it is made of."""
    words: str
    """The same in one sentence."""
    key: str
    """What the log knows it by."""


def passage(drill: Drill, hand: Hand) -> tuple[Passing, ...]:
    """Return every change of `drill` in order. Raises ChangeoverError where a shape does not fit its instrument."""
    return tuple(_passing(before, after, drill, hand) for before, after in drill.changes)


def _passing(before: Step, after: Step, drill: Drill, hand: Hand) -> Passing:
    change = analyse(before.shape, after.shape, drill.instrument, hand, (before.plucked, after.plucked))
    key = change_key(drill.instrument, before.shape, after.shape)
    return Passing(before, after, change, describe(change, before.plucked), key)
