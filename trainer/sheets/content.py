"""What stands on a hand-out, whatever it is written as."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from trainer.hand.reach import Hand
from trainer.practice import cuts, joins
from trainer.practice.drill import SKILLS, Drill, Order, Segment
from trainer.practice.passage import Passing, passage
from trainer.practice.tempo import within_limits
from trainer.sheets.diagram import Diagram, diagram

CARE = (
    "Warm up first, gently. Rest at least ten minutes in an hour, sooner if the hand tires. Never force a stretch or"
    " squeeze a barre. Stop at pain, tingling or numbness; if it comes back, see a doctor or physiotherapist."
)
"""The usual cautions of health professionals and teachers (common practice); they replace no licensed advice."""
GOALS = (0.6, 0.7, 0.8, 0.9, 1.0)
"""Tempo goals as parts of the drill's own tempo (common practice, no source)."""
IN_A_ROW = 4
"""Boxes of each goal: so many times without a miss."""
SLOWEST = 5
"""So many of the player's slowest changes are named."""

Times: TypeAlias = Mapping[str, tuple[float, float]]
"""Usual and best time in milliseconds by change, as the log knows it (`practice.drill.change_key`)."""


@dataclass(frozen=True, slots=True)
class Card:
    """One shape of the passage and the change that leads to it."""

    number: int
    """Its place in the passage, from 1; the way back to the first shape has that one's."""
    name: str
    """What it is called."""
    beats: str
    """How long it lasts, in words."""
    diagram: Diagram
    """The shape with the ways its fingers come."""
    arrival: str
    """What the fingers do on the way to it; empty for the first."""
    watch: int | None
    """The finger to watch on the way."""
    note: str
    """What the drill's author says of it."""
    back: bool = False
    """True for the way back to the first shape."""

    @property
    def title(self) -> str:
        """Its number and name, said to be the way back where it is that."""
        return f"{'back to ' if self.back else ''}{self.number}. {self.name}"


@dataclass(frozen=True, slots=True)
class Slow:
    """One of the player's slow changes."""

    names: tuple[str, str]
    """Its shapes."""
    median_ms: float
    """The usual time, in milliseconds."""
    best_ms: float
    """The best time."""


@dataclass(frozen=True, slots=True)
class Content:
    """Everything on a hand-out."""

    title: str
    """The drill's title."""
    about: str
    """What it is for."""
    facts: tuple[str, ...]
    """Tuning, capo, meter, tempo; what it trains."""
    caution: str
    """What to mind in this drill; may be empty."""
    credits: str
    """Who made it; may be empty."""
    cards: tuple[Card, ...]
    """Shapes in order."""
    segments: tuple[Segment, ...]
    """The parts to practise alone, in order."""
    plan: tuple[tuple[joins.Step, str], ...]
    """The steps of the join plan, each with its picture: one sign for a shape."""
    goals: tuple[float, ...]
    """Tempos to reach, beats per minute."""
    slowest: tuple[Slow, ...]
    """The player's slowest changes, the slowest first; empty where none was timed."""
    player: str = ""
    """Whose it is, where that is said."""
    practise: tuple[tuple[str, str], ...] = ()
    """Changes to practise first, each with the reason."""


def content(drill: Drill, hand: Hand, times_ms: Times | None = None) -> Content:
    """Return what stands on the hand-out of `drill` for a `hand`.

    Raises ChangeoverError where a shape does not fit its instrument.
    """
    passings, times = passage(drill, hand), times_ms or {}
    segments = drill.segments if _joins(drill.segments, len(drill.steps)) else _cut(drill, passings, times)
    plan = joins.begin(segments)
    return Content(
        title=drill.title,
        about=drill.about,
        facts=_facts(drill),
        caution=drill.caution,
        credits=drill.credits,
        cards=tuple(_cards(drill, passings)),
        segments=segments,
        plan=tuple(zip(plan.steps, plan.picture("#", "."), strict=True)),
        goals=tuple(within_limits(round(drill.tempo * part)) for part in GOALS),
        slowest=_slowest(passings, times),
    )


def _joins(segments: tuple[Segment, ...], shapes: int) -> bool:
    """Tell whether segments cover the passage from its first shape to its last without gap or overlap."""
    ends = [0, *(segment.last for segment in segments)]
    return ends[-1] == shapes and all(
        part.first == end + 1 < part.last for part, end in zip(segments, ends, strict=False)
    )


def _cut(drill: Drill, passings: tuple[Passing, ...], times_ms: Times) -> tuple[Segment, ...]:
    inner = passings[: len(drill.steps) - 1]
    joints = cuts.joints(
        drill.lengths,
        drill.meter[0],
        [abs(passing.change.shift.frets) if passing.change.shift else 0 for passing in inner],
        [times_ms[passing.key][0] if passing.key in times_ms else None for passing in inner],
    )
    return cuts.segments(len(drill.steps), [cut.after for cut in cuts.suggest(joints)])


def _facts(drill: Drill) -> tuple[str, ...]:
    instrument = drill.instrument
    capo = f", capo {instrument.capo}" if instrument.capo else ""
    beats, value = drill.meter
    facts = [
        f"tuning {' '.join(instrument.tuning_names)}{capo}",
        f"{beats}/{value}, {drill.tempo:g} beats per minute",
    ]
    if drill.trains:
        facts.append("trains " + ", ".join(f"{skill} ({SKILLS[skill]})" for skill in drill.trains if skill in SKILLS))
    return tuple(facts)


def _cards(drill: Drill, passings: tuple[Passing, ...]) -> Iterable[Card]:
    leading = {pair[1]: passing for pair, passing in zip(drill.pairs, passings, strict=True) if pair[0] < pair[1]}
    for index in range(len(drill.steps)):
        yield _card(drill, index, leading.get(index))
    if drill.order is Order.RING:
        yield _card(drill, 0, passings[-1], back=True)


def _card(drill: Drill, index: int, passing: Passing | None, *, back: bool = False) -> Card:
    step = drill.steps[index]
    change = None if passing is None else passing.change
    return Card(
        number=index + 1,
        name=step.name,
        beats="1 beat" if step.beats == 1 else f"{step.beats} beats",
        diagram=diagram(step.shape, change),
        arrival="" if passing is None else passing.words,
        watch=None if change is None else change.watch,
        note="" if back else step.note,
        back=back,
    )


def _slowest(passings: tuple[Passing, ...], times_ms: Times) -> tuple[Slow, ...]:
    found = {
        passing.key: Slow((passing.before.name, passing.after.name), *times_ms[passing.key])
        for passing in passings
        if passing.key in times_ms
    }
    return tuple(sorted(found.values(), key=lambda slow: -slow.median_ms)[:SLOWEST])
