"""The join plan: segments alone, then each join across its seam, then neighbours, then growing runs, then the whole.

Part practice beats whole, and chaining forwards beats chaining backwards (Ash and Holding, Human Factors 32, 1990, at
second hand), so the runs grow from the front. A step is passed on measured ground: so many runs in a row in which every
change landed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from trainer.errors import wrong
from trainer.practice.course import Pair
from trainer.practice.drill import Segment

IN_A_ROW = 2
"""So many good runs in a row pass a step (ours, no source)."""
MISSES = 3
"""So many runs in a row that were not good, and the plan goes back to a shorter step (ours, no source)."""
_TEXT = re.compile(r"(\d+-\d+(?: \d+-\d+)*) \| passed((?: \d+)*) \| at (\d+) good (\d+) missed (\d+)", re.ASCII)


class Kind(StrEnum):
    """What a step practises."""

    ALONE = "alone"
    """One segment by itself."""
    SEAM = "seam"
    """The join of two neighbours: the change between them with the one before it and the one after."""
    PAIR = "neighbours"
    """Two neighbours in one go."""
    RUN = "run"
    """From the first segment on, growing."""
    WHOLE = "whole"
    """All of it."""


class State(StrEnum):
    """How far a step has come."""

    PASSED = "passed"
    """Measured, or good already when the plan was made."""
    NOW = "now"
    """The one at hand."""
    TO_COME = "to come"
    """Not yet."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the plan."""

    kind: Kind
    """What it practises."""
    first: int
    """Number of its first shape, from 1."""
    last: int
    """Number of its last shape, included."""

    @property
    def segment(self) -> Segment:
        """The same as a segment to drill."""
        return Segment(f"{self.kind}: {self.first} to {self.last}", self.first, self.last)

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """Its changes, as indices of the shape left and the shape reached."""
        return tuple(pairwise(range(self.first - 1, self.last)))

    def holds(self, other: Step) -> bool:
        """Tell whether all of `other` is part of it."""
        return self.first <= other.first and other.last <= self.last


@dataclass(frozen=True, slots=True)
class Plan:
    """A join plan under way; it can be left at any run and resumed from its text form."""

    segments: tuple[Segment, ...]
    """In the order of the passage, without gaps."""
    passed: frozenset[int] = frozenset()
    """Indices of the steps that are passed."""
    at: int = 0
    """Index of the step at hand; the number of steps when all are passed."""
    good: int = 0
    """Good runs of it in a row."""
    missed: int = 0
    """Runs of it in a row that were not good."""

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step, in order."""
        return steps(self.segments)

    @property
    def step(self) -> Step | None:
        """The step at hand; None when all are passed."""
        every = self.steps
        return every[self.at] if self.at < len(every) else None

    @property
    def states(self) -> tuple[State, ...]:
        """How far each step has come."""
        return tuple(
            State.NOW if number == self.at else State.PASSED if number in self.passed else State.TO_COME
            for number in range(len(self.steps))
        )

    def after(self, landed: int, asked: int) -> Plan:
        """Return the plan after a run of the step at hand in which `landed` of `asked` changes landed."""
        if self.step is None:
            return self
        if landed < asked:
            return self._missed()
        if self.good + 1 < IN_A_ROW:
            return replace(self, good=self.good + 1, missed=0)
        return _next(replace(self, passed=self.passed | self._within(self.at), good=0, missed=0))

    def skipped(self) -> Plan:
        """Return the plan with the step at hand passed because the player says so."""
        return self if self.step is None else _next(replace(self, passed=self.passed | {self.at}, good=0, missed=0))

    def back(self) -> Plan:
        """Return the plan at the step before the one at hand, to be passed again; the first stays."""
        at = max(self.at - 1, 0)
        return replace(self, at=at, passed=self.passed - {at}, good=0, missed=0)

    def turned_to(self, number: int) -> Plan:
        """Return the plan at step `number`, from 0, to be passed again; the player chooses freely."""
        return replace(self, at=number, passed=self.passed - {number}, good=0, missed=0)

    def recut(self, parts: Sequence[Segment], is_good: Callable[[Pair], bool] = lambda _: False) -> Plan:
        """Return the plan to join other parts of the same passage; steps that both have stay passed."""
        places = {(step.first, step.last) for number, step in enumerate(self.steps) if number in self.passed}
        new = begin(parts, is_good)
        same = {number for number, step in enumerate(new.steps) if (step.first, step.last) in places}
        return _next(replace(new, passed=new.passed | same))

    def picture(self, inside: str = "■", outside: str = "·") -> tuple[str, ...]:
        """Return one line for each step with a sign for each shape of the passage: in it, or outside."""
        shapes = self.segments[-1].last
        return tuple(
            "".join(inside if step.first <= shape <= step.last else outside for shape in range(1, shapes + 1))
            for step in self.steps
        )

    @property
    def text(self) -> str:
        """The text form, which `read` takes back: `1-4 5-8 | passed 0 1 | at 2 good 1 missed 0`."""
        cut = " ".join(f"{part.first}-{part.last}" for part in self.segments)
        passed = "".join(f" {number}" for number in sorted(self.passed))
        return f"{cut} | passed{passed} | at {self.at} good {self.good} missed {self.missed}"

    def _within(self, number: int) -> frozenset[int]:
        """Return the indices of every step that is part of step `number`, itself included."""
        every = self.steps
        return frozenset(index for index, step in enumerate(every) if every[number].holds(step))

    def _missed(self) -> Plan:
        """Return the plan after a run that was not good; after several, at the longest step that is part of it."""
        once = replace(self, good=0, missed=(self.missed + 1) % MISSES)
        shorter = [number for number in self._within(self.at) if number < self.at]
        if once.missed or not shorter:
            return once
        every = self.steps
        # Of equals the last: a seam is more often the trouble than a segment.
        at = max(shorter, key=lambda number: (every[number].last - every[number].first, number))
        return replace(once, at=at, passed=self.passed - {at})


def begin(parts: Sequence[Segment], is_good: Callable[[Pair], bool] = lambda _: False) -> Plan:
    """Return the plan to join `parts`, which follow each other without gaps.

    Steps that practise single segments and seams are skipped where `is_good` says of each of their changes that it is
    good already; what is longer has to be played. Raises ChangeoverError where the parts leave a gap or overlap.
    """
    _check(parts)
    plan = Plan(tuple(parts))
    known = frozenset(
        number
        for number, step in enumerate(plan.steps)
        if step.kind in {Kind.ALONE, Kind.SEAM} and all(map(is_good, step.pairs))
    )
    return _next(replace(plan, passed=known))


def steps(parts: Sequence[Segment]) -> tuple[Step, ...]:
    """Return the steps that join `parts`: no two practise the same shapes."""
    found = [Step(Kind.ALONE, part.first, part.last) for part in parts]
    for left, right in pairwise(parts):
        found.append(Step(Kind.SEAM, left.last - 1, right.first + 1))
        found.append(Step(Kind.PAIR, left.first, right.last))
    found += [Step(Kind.RUN, parts[0].first, part.last) for part in parts[2:-1]]
    found.append(Step(Kind.WHOLE, parts[0].first, parts[-1].last))
    seen: dict[tuple[int, int], Step] = {}
    for step in found:
        # The whole is called so even where it is also two neighbours, or one segment.
        place = (step.first, step.last)
        seen[place] = step if step.kind is Kind.WHOLE else seen.get(place, step)
    return tuple(seen.values())


def read(text: str) -> Plan:
    """Return the plan of a text form. Raises ChangeoverError where it is none."""
    match = _TEXT.fullmatch(text.strip())
    if match is None:
        raise wrong("this is no join plan", hint="as in 1-4 5-8 | passed 0 | at 1 good 0 missed 0")
    parts = []
    for words in match[1].split():
        first, last = map(int, words.split("-"))
        parts.append(Segment(f"{first} to {last}", first, last))
    _check(parts)
    passed = frozenset(map(int, match[2].split()))
    plan = Plan(tuple(parts), passed, *map(int, match.groups()[2:]))
    count = len(plan.steps)
    if plan.at > count or any(number >= count for number in passed) or plan.good >= IN_A_ROW or plan.missed >= MISSES:
        raise wrong("this join plan contradicts itself", hint=f"it has {count} steps, counted from 0")
    return plan


def _check(parts: Sequence[Segment]) -> None:
    if not parts:
        raise wrong("no segments to join", hint="at least one")
    for part in parts:
        if not 1 <= part.first < part.last:
            raise wrong(f"a segment from shape {part.first} to {part.last}", hint="at least two shapes, from 1 up")
    for left, right in pairwise(parts):
        if right.first != left.last + 1:
            raise wrong(
                f"segments that end at shape {left.last} and begin at shape {right.first}",
                hint="each begins at the shape after the one before it",
            )


def _next(plan: Plan) -> Plan:
    """Return the plan at its first step that is not passed."""
    count = len(plan.steps)
    return replace(plan, at=next((number for number in range(count) if number not in plan.passed), count))
