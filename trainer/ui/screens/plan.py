"""The join plan of a drill: where it is cut, which steps join it again, and how far they have come."""

from __future__ import annotations

from textual.app import ComposeResult

from trainer.errors import ChangeoverError
from trainer.ui.command import Call, Place
from trainer.ui.drilling.joining import NOTHING_TO_JOIN, Joining
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.joins import Joins
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words


class PlanScreen(CommandScreen):
    """One drill's join plan, to cut and to choose from."""

    place = Place.PLAN
    CSS_PATH = "plan.tcss"
    heading = "Join plan"

    def __init__(self, services: Services, joining: Joining | None) -> None:
        """Show `joining`, which the drill screen below goes on with; None: the drill is too short for a plan."""
        super().__init__(services)
        self._joining = joining
        self._chosen = 0 if joining is None else min(joining.plan.at, len(joining.plan.steps) - 1)
        self._cursor = 1
        self._whys: dict[int, str] = {}

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Joins(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Show how far it is."""
        if self._joining is not None:
            self._whys = {cut.after: "; ".join(cut.why) for cut in self._joining.suggested()}
            self._cursor = next(iter(sorted(part.last for part in self._joining.plan.segments[:-1])), 1)
        self._show()

    def do_plan_go(self, call: Call) -> None:
        """Practise the step that is highlighted."""
        if self._joining is not None:
            self._joining.turn_to(self._chosen)
        self.do_close(call)

    def do_plan_up(self, _: Call) -> None:
        """Highlight the step above."""
        self._choose(-1)

    def do_plan_down(self, _: Call) -> None:
        """Highlight the step below."""
        self._choose(1)

    def do_plan_left(self, _: Call) -> None:
        """Go to the change before."""
        self._move(-1)

    def do_plan_right(self, _: Call) -> None:
        """Go to the next change."""
        self._move(1)

    def do_plan_cut(self, _: Call) -> None:
        """Cut at the cursor, or join there."""
        if self._joining is None:
            return
        try:
            self._joining.toggle(self._cursor)
        except ChangeoverError as error:
            (problem,) = error.problems
            self._show(f"No cut here: {problem.what}; {problem.hint}.", warn=True)
            return
        self._anew()

    def do_plan_suggest(self, _: Call) -> None:
        """Cut where it is suggested."""
        self._suggest(0)

    def do_plan_shorter(self, _: Call) -> None:
        """Cut into shorter segments."""
        self._suggest(-1)

    def do_plan_longer(self, _: Call) -> None:
        """Cut into longer segments."""
        self._suggest(1)

    def do_plan_again(self, _: Call) -> None:
        """Forget what was passed."""
        if self._joining is not None:
            self._joining.begin_again()
            self._anew("Every step is to be passed again; the cuts stay.")

    def _suggest(self, by: int) -> None:
        if self._joining is None:
            return
        cuts = self._joining.suggest(self._joining.longest + by)
        self._whys = {cut.after: "; ".join(cut.why) for cut in cuts}
        self._anew(f"Segments of at most {self._joining.longest} changes.")

    def _choose(self, by: int) -> None:
        if self._joining is not None:
            self._chosen = (self._chosen + by) % len(self._joining.plan.steps)
            self._show()

    def _move(self, by: int) -> None:
        if self._joining is not None:
            self._cursor = min(max(self._cursor + by, 1), len(self._joining.drill.steps) - 1)
            self._show()

    def _anew(self, message: str = "") -> None:
        """Show a plan whose steps are other ones now."""
        assert self._joining is not None  # noqa: S101  # only called where there is a plan
        self._chosen = min(self._joining.plan.at, len(self._joining.plan.steps) - 1)
        self._show(message)

    def _show(self, message: str = "", *, warn: bool = False) -> None:
        if self._joining is None:
            self.query_one(Words).show(NOTHING_TO_JOIN)
            return
        plan, drill = self._joining.plan, self._joining.drill
        passed = f"{len(plan.passed)} of {len(plan.steps)} passed"
        self.query_one(TopLine).show(self.heading, passed, (drill.title,), self.signs.dot)
        names = tuple(step.name for step in drill.steps)
        self.query_one(Joins).show(plan, names, self._chosen, self._cursor)
        left, reached = (drill.steps[index].name for index in (self._cursor - 1, self._cursor))
        is_cut = self._cursor in {part.last for part in plan.segments[:-1]}
        why = self._whys.get(self._cursor, "") if is_cut else ""
        at = f"{'Cut' if is_cut else 'No cut'} from {left} to {reached}{f': {why}' if why else ''}."
        self.query_one(Words).show(at, message, warn=warn)
        step = plan.steps[self._chosen]
        self.query_one(Prompt).show(self.first_key("plan_go"), f"practises {step.kind} {step.first} to {step.last}.")
