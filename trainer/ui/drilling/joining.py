"""The join plan of one drill as it is practised: its step at hand as a course, and what a run makes of it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from trainer.errors import ChangeoverError
from trainer.practice import cuts, joins
from trainer.practice.course import Course, Pair, segment, whole
from trainer.practice.drill import Drill, Segment
from trainer.practice.joins import IN_A_ROW, Plan
from trainer.practice.phases import Mode
from trainer.practice.plan import MARGIN, target_ms
from trainer.practice.state import Session
from trainer.practice.statistics import Statistics
from trainer.ui.drilling.logbook import Logbook

FEWEST_SHAPES = 4
"""A drill of fewer shapes has nothing to cut."""
NOTHING_TO_JOIN = "There is nothing to join: a plan begins at four shapes."
"""Said of such a drill."""
_SURE = 10
"""A change is good already only from so many times up."""
_CLEAN = Fraction(4, 5)
"""… where so many of those that were spoken of were clean."""


class Joining:
    """A plan that goes on with every run that is over; each new state of it is handed to `keep`."""

    def __init__(self, logbook: Logbook, kept: Plan | None, keep: Callable[[Plan], None]) -> None:
        """Resume `kept` where it is of this drill, else begin anew with the drill's own segments or suggested ones."""
        self.drill: Drill = logbook.drill
        """What is joined."""
        self.asked = False
        """True where the player asked for a step on another screen, and it has not been begun."""
        self.longest = cuts.LONGEST
        """Most changes of a segment that is suggested."""
        self._logbook = logbook
        self._keep = keep
        self._parts: dict[int, tuple[int, int]] = {}
        fits = kept is not None and kept.segments[-1].last == len(self.drill.steps) and kept.segments[0].first == 1
        self.plan: Plan = kept if fits and kept is not None else self._fresh()
        """How far it is."""

    @property
    def course(self) -> Course:
        """The changes of the step at hand; once all are passed, of the whole."""
        step = self.plan.step
        return whole(self.drill) if step is None else segment(self.drill, step.segment)

    @property
    def name(self) -> str:
        """The step at hand as the player reads it: `join 5 of 12, seam 4 to 6`."""
        step, every = self.plan.step, len(self.plan.steps)
        if step is None:
            return f"joined, all {every} steps"
        return f"join {self.plan.at + 1} of {every}, {step.kind} {step.first} to {step.last}"

    def result(self, session: Session) -> tuple[int, int] | None:
        """Return how many changes landed and were asked for in the step, by the run that is over in `session`.

        Where the beat takes the step in several runs, over all of them; None before the last, where not all were
        played, or where the run was broken off. A landing that was called unclean is none.
        """
        summary = session.summary
        if summary is None or not summary.complete or not summary.asked or session.mode is Mode.WALK:
            return None
        if session.mode is not Mode.PACED:
            return sum(one.clean is not False for one in session.landings), summary.asked
        parts = self._parts | {session.part: (summary.landed, summary.asked)}
        if session.part + 1 < session.course.parts or len(parts) < session.course.parts:
            return None
        landed, asked = zip(*parts.values(), strict=True)
        return sum(landed), sum(asked)

    def outlook(self, session: Session) -> str:
        """Return what the run that is over means for the plan, in one sentence; empty where it means nothing."""
        found = self.result(session)
        if found is None or self.plan.step is None:
            return ""
        after = self.plan.after(*found)
        if after.at == self.plan.at:
            if found[0] < found[1]:
                return f"{found[1] - found[0]} to mend; {IN_A_ROW} good runs in a row pass this step."
            return f"Good, {after.good} of {IN_A_ROW} in a row."
        if after.step is None:
            return "Passed, and that was the last step: the whole is joined."
        why = "Passed" if after.at > self.plan.at or self.plan.at in after.passed else "Back to a shorter step"
        return f"{why}; next: {after.step.kind} {after.step.first} to {after.step.last}."

    def take(self, session: Session) -> bool:
        """Go on by the run that is over in `session`; return True where another step is at hand now."""
        found = self.result(session)
        if found is None:
            summary = session.summary
            if summary is not None and session.mode is Mode.PACED:
                self._parts[session.part] = (summary.landed, summary.asked)
            return False
        before = self.plan.at
        self.change(self.plan.after(*found))
        return self.plan.at != before

    def change(self, plan: Plan) -> None:
        """Go on from this state of the plan, and keep it."""
        self._parts.clear()
        if plan != self.plan:
            self.plan = plan
            self._keep(plan)

    def turn_to(self, number: int) -> None:
        """Practise this step next, as the player wants."""
        self.change(self.plan.turned_to(number))
        self.asked = True

    def toggle(self, after: int) -> None:
        """Cut after the shape of this number, or join there; raises ChangeoverError where a segment had no change."""
        edges = {part.last for part in self.plan.segments[:-1]} ^ {after}
        self.change(self.plan.recut(cuts.segments(len(self.drill.steps), sorted(edges)), self.is_good))

    def suggest(self, longest: int) -> tuple[cuts.Cut, ...]:
        """Cut as is suggested, with segments of at most `longest` changes; return where, and why there."""
        self.longest = max(longest, 1)
        found = self.suggested()
        shapes = len(self.drill.steps)
        self.change(self.plan.recut(cuts.segments(shapes, [cut.after for cut in found]), self.is_good))
        return found

    def suggested(self) -> tuple[cuts.Cut, ...]:
        """Return where it would be cut, and why there."""
        drill, passings = self.drill, self._logbook.passings
        changes = [passings[pair].change for pair in self._pairs]
        shifts = [0 if change.shift is None else change.shift.frets for change in changes]
        times = [None if (now := self._now(pair)) is None else now.median_ms for pair in self._pairs]
        known = cuts.joints(drill.lengths, drill.meter[0], shifts, times)
        return cuts.suggest(known, self.longest)

    def begin_again(self) -> None:
        """Forget what was passed; the cuts stay."""
        self.change(joins.begin(self.plan.segments))

    def is_good(self, pair: Pair) -> bool:
        """Tell whether a change is fast enough for the drill's own tempo already, and clean, by its newest times."""
        now = self._now(pair)
        if now is None or now.timed < _SURE or now.median_ms is None:
            return False
        clean = not now.answered or Fraction(now.clean, now.answered) >= _CLEAN
        return clean and now.median_ms <= MARGIN * target_ms(self.drill.tempo)

    @property
    def _pairs(self) -> tuple[Pair, ...]:
        return tuple((index, index + 1) for index in range(len(self.drill.steps) - 1))

    def _now(self, pair: Pair) -> Statistics | None:
        return self._logbook.standings.newest(self._logbook.passings[pair].key)

    def _fresh(self) -> Plan:
        own = self.drill.segments
        shapes = len(self.drill.steps)
        try:
            if own and own[0].first == 1 and own[-1].last == shapes:
                return joins.begin(own, self.is_good)
        except ChangeoverError:
            # The drill's own segments overlap or leave a gap: each may be drilled, but they do not make up the whole.
            pass
        parts: tuple[Segment, ...] = cuts.segments(shapes, [cut.after for cut in self.suggested()])
        return joins.begin(parts, self.is_good)
