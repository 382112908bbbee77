"""What can be practised of a drill, in the order in which the player steps through it."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.practice.course import Course, Pair, back_and_forth, one_change, segment, whole
from trainer.practice.drill import Drill


@dataclass(frozen=True, slots=True)
class Choice:
    """One way through a drill."""

    name: str
    """What the player reads."""
    course: Course
    """The changes it goes through."""


def choices(drill: Drill, pair: Pair) -> tuple[Choice, ...]:
    """Return what can be practised of `drill` while the change `pair` is at hand: all of it first."""
    first, second = (drill.steps[index].name for index in pair)
    return (
        Choice("all of it", whole(drill)),
        Choice(f"{first} and {second}, there and back", back_and_forth(drill, *pair)),
        Choice(f"{first} to {second} only", one_change(drill, *pair)),
        *(Choice(part.name, segment(drill, part, rounds=4)) for part in drill.segments),
    )
