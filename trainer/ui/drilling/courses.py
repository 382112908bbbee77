"""What can be practised of a drill, in the order in which the player steps through it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from trainer.files.kept import Kept
from trainer.practice.course import Course, Pair, back_and_forth, one_change, segment, whole
from trainer.practice.drill import Drill
from trainer.practice.joins import Plan
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.joining import FEWEST_SHAPES, Joining
from trainer.ui.drilling.logbook import Logbook


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


class KeepsPlans(Protocol):
    """What join plans are kept in from sitting to sitting."""

    @property
    def kept(self) -> Kept:
        """What is kept."""

    def keep_plan(self, title: str, plan: Plan) -> None:
        """Keep the plan of the drill of this title."""


class Courses:
    """Steps through the choices of one drill; after the last comes its join plan, where there is enough to join."""

    def __init__(self, drill: Drill, given: Choice | None, keeper: KeepsPlans) -> None:
        """Begin with the choice that is `given`, else with all of the drill."""
        self._drill = drill
        self._given = () if given is None else (given,)
        self._keeper = keeper
        self._all = (*self._given, *choices(drill, drill.pairs[0]))
        self._at = 0
        self._joining: Joining | None = None

    @property
    def joining(self) -> Joining | None:
        """The join plan, while it is what is practised."""
        return self._joining if self._at == len(self._all) else None

    @property
    def name(self) -> str:
        """What is practised, as the player reads it."""
        return self._all[self._at].name if self.joining is None else self.joining.name

    @property
    def course(self) -> Course:
        """The changes it goes through."""
        return self._all[self._at].course if self.joining is None else self.joining.course

    def turn(self, conductor: Conductor, at: float) -> None:
        """Practise the next choice."""
        if self._at == 0:
            self._all = (*self._given, *choices(self._drill, conductor.session.pair))
        self._at = (self._at + 1) % (len(self._all) + (self.plan(conductor.logbook) is not None))
        self._begin(conductor, at)

    def plan(self, logbook: Logbook) -> Joining | None:
        """Return the drill's join plan, resumed where it was left; None where there is too little to join."""
        if self._joining is None and len(self._drill.steps) >= FEWEST_SHAPES:
            title = self._drill.title
            kept = self._keeper.kept.joins.get(title)
            self._joining = Joining(logbook, kept, lambda plan: self._keeper.keep_plan(title, plan))
        return self._joining

    def take_step(self, conductor: Conductor, at: float) -> None:
        """Practise the step of the join plan that was asked for on another screen, where one was."""
        if self._joining is not None and self._joining.asked:
            self._joining.asked, self._at = False, len(self._all)
            self._begin(conductor, at)

    def _begin(self, conductor: Conductor, at: float) -> None:
        conductor.begin_anew(self.course, at, self.joining)
        conductor.say(f"Now: {self.name}.")
