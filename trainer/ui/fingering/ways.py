"""Ways of fingering a drill: the chosen one and its rivals, with what each change costs and why.

All of it may run on a thread of its own.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol, TypeAlias

from trainer.errors import ChangeoverError
from trainer.hand.reach import Hand
from trainer.hand.search.fingering import Fingering, Taken
from trainer.hand.search.passage import MOST_NOTES
from trainer.practice.drill import Drill, Step
from trainer.practice.fingering import Keep, costs_of, fingered, moves_of, passage_of, spans_of
from trainer.ui.fingering.bench import Aim, Asked
from trainer.ui.fingering.schools import Weighed

if TYPE_CHECKING:
    from collections.abc import Callable

    from trainer.hand.search.impossible import Impossible
    from trainer.hand.search.passage import Note, Passage
    from trainer.hand.search.wording import Clause

RIVALS = 3
"""So many ways stand beside the chosen one."""
_SPARE = 2
"""So many more are looked for: one may be the chosen way itself, or none that a drill can hold."""


@dataclass(frozen=True, slots=True)
class Column:
    """One way through the drill."""

    name: str
    """Where it comes from."""
    way: Fingering
    """As the search tells it."""
    drill: Drill
    """The drill fingered so."""
    costs: tuple[float, ...]
    """What coming to each shape costs, and whatever moves while it lasts."""
    moves: tuple[tuple[int, ...], ...]
    """The moves of the way that belong to each shape."""

    @property
    def total(self) -> float:
        """What all of it costs."""
        return sum(self.costs)

    @property
    def worst(self) -> int:
        """The shape that is the dearest to come to."""
        return max(range(len(self.costs)), key=self.costs.__getitem__)

    def position(self, at: int) -> int | None:
        """Return where the hand is at a shape's end; None before it has taken any position."""
        return self.way.moves[self.moves[at][-1]].position if self.moves[at] else None

    def reasons(self, at: int) -> tuple[Clause, ...]:
        """Return what coming to a shape costs, dearest first, what it saves last; like things told once."""
        from trainer.hand.search.wording import Clause, clauses

        sums: dict[str, float] = {}
        for index in self.moves[at]:
            for clause in clauses(self.way, index):
                sums[clause.words] = sums.get(clause.words, 0.0) + clause.cost
        return tuple(sorted((Clause(*each) for each in sums.items()), key=lambda clause: -clause.cost))


@dataclass(frozen=True)
class Outcome:
    """What came of what was asked."""

    asked: Asked
    """What was asked for."""
    columns: tuple[Column, ...] = ()
    """The chosen way first, where there is one, then its rivals, the best first."""
    exact: bool = False
    """True where no way is better than the best, by these weights."""
    problem: str = ""
    """Why there is no rival."""
    set: int | None = None
    """The way that was looked at when something was set, with as little moved as that asks for."""
    stuck: int | None = None
    """The shape that no hand takes as it is asked for, where that is why."""
    said: str = ""
    """What else the player should know."""

    def looked_at(self, column: int) -> Column | None:
        """Return the way with this number, the last one where there are fewer; None where there is none."""
        return self.columns[min(column, len(self.columns) - 1)] if self.columns else None

    @cached_property
    def apart(self) -> frozenset[int]:
        """The shapes that the ways take differently."""
        steps = zip(*(column.drill.steps for column in self.columns), strict=True)
        return frozenset(at for at, ways in enumerate(steps) if len(set(map(held, ways))) > 1)

    def differs(self, column: int, at: int) -> bool:
        """Tell whether a way takes a shape otherwise than the first one does."""
        return held(self.columns[column].drill.steps[at]) != held(self.columns[0].drill.steps[at])


def held(step: Step) -> object:
    """Return what tells a shape's fingering from another's: fingers that sound, and barres."""
    stops = tuple((string, stop.fret, stop.finger) for string, stop in step.shape if string in step.plucked.strings)
    return stops, frozenset(step.shape.barres)


def sought(drill: Drill, asked: Asked, hand: Hand, weigh: Callable[[], Weighed]) -> Outcome:
    """Return the ways for what is asked; never raises ChangeoverError. It takes a second for a hundred shapes or so."""
    try:
        return _sought(drill, asked, hand, weigh())
    except ChangeoverError as error:
        return Outcome(asked, problem=error.problems[0].what)


def _sought(drill: Drill, asked: Asked, hand: Hand, weighed: Weighed) -> Outcome:
    from trainer.hand.search.impossible import Impossible
    from trainer.hand.search.solve import work_out

    passage = passage_of(drill)
    if len(passage.notes) > MOST_NOTES:
        return Outcome(asked, problem=f"{len(passage.notes)} notes are too many; take the drill in parts.")

    def best(
        wanted: Passage, rivals: int = 0, near: Sequence[Taken] | None = None
    ) -> tuple[tuple[Fingering, ...], bool] | Impossible:
        worst = asked.aim is Aim.WORST
        found = work_out(wanted, hand, weighed.weights, worst=worst, alternatives=rivals, near=near)
        if isinstance(found, Impossible):
            return found
        return (found.best, *(other.fingering for other in found.alternatives)), found.exact

    said = [weighed.said] if weighed.said else []
    columns: list[Column] = []
    chosen = _chosen(drill, asked, passage)
    if chosen is not None:
        own = best(chosen)
        if isinstance(own, Impossible):
            said.append(f"As written it is beyond this hand: {_why(own, drill)}")
        else:
            columns.append(_column("taken" if asked.chosen else "written", drill, own[0][0]))
    wanted = _pinned(passage if asked.keep is Keep.FRETS else passage.bare(), asked.pinned)
    found = best(wanted, RIVALS + _SPARE)
    if isinstance(found, Impossible):
        at = _shape_of(found, drill)
        return Outcome(asked, tuple(columns), problem=_why(found, drill), stuck=at, said=" ".join(said))
    ways, exact = found
    named = [("best" if number == 0 else "other", way) for number, way in enumerate(ways)]
    if asked.pins:
        named[:0] = [(SET, way) for way in _set(drill, passage, wanted, asked, best)]
    return _beside(asked, columns, drill, named, exact, said)


SET = "set"
"""The name of the way that was looked at when something was set, with as little moved as that asks for."""


_Named: TypeAlias = tuple[str, Fingering]


class _Best(Protocol):
    """Returns the best ways through a passage and whether none is better, or why there is none."""

    def __call__(
        self, wanted: Passage, rivals: int = 0, near: Sequence[Taken] | None = None
    ) -> tuple[tuple[Fingering, ...], bool] | Impossible: ...


def _set(drill: Drill, passage: Passage, wanted: Passage, asked: Asked, best: _Best) -> Sequence[Fingering]:
    """Return the way that was looked at when something was set, moved as little as that asks for; none if it cannot."""
    near = asked.near
    for still in _kept(drill, passage, asked):
        close = best(_pinned(wanted, still), near=asked.near)
        if isinstance(close, tuple):
            near = close[0][0].notes
            break
    # It was sought with a price on whatever moves; what it costs is asked again, without.
    again = best(_pinned(passage, dict(enumerate(near))))
    return again[0] if isinstance(again, tuple) else ()


def _beside(
    asked: Asked, columns: list[Column], drill: Drill, ways: Sequence[_Named], exact: bool, said: list[str]
) -> Outcome:
    """Return the outcome of named ways beside the chosen one, without those that are the same or not to be held."""
    taken = {_holds(column.drill): index for index, column in enumerate(columns)}
    refused, set_ = "", None
    room = len(columns) + RIVALS
    for name, way in ways:
        try:
            column = _column(name, drill, way)
        except ChangeoverError as error:
            refused = refused or error.problems[0].what
            continue
        same = taken.setdefault(_holds(column.drill), len(columns))
        if same < len(columns):
            set_ = same if name == SET else set_
            if name == "best":
                columns[same] = replace(columns[same], name=f"{columns[same].name}, {name}")
        elif len(columns) < room:
            set_ = same if name == SET else set_
            columns.append(column)
    problem = f"No way is one shape at a time: {refused}." if refused and not columns else ""
    return Outcome(asked, tuple(columns), exact, problem, set_, said=" ".join(said))


def _holds(drill: Drill) -> object:
    return tuple(map(held, drill.steps))


def _column(name: str, drill: Drill, way: Fingering) -> Column:
    return Column(name, way, _variant(drill, fingered(drill, way)), costs_of(drill, way), moves_of(drill, way))


def _variant(drill: Drill, other: Drill) -> Drill:
    """Return `other` as a drill of its own, or `drill` itself where that is fingered the same.

    What is written about the old fingers is left out.
    """
    steps = tuple(
        old if held(old) == held(new) else replace(new, note="")
        for old, new in zip(drill.steps, other.steps, strict=True)
    )
    if steps == drill.steps:
        return drill
    title = drill.title if drill.title.endswith(OTHERWISE) else f"{drill.title}{OTHERWISE}"
    return replace(drill, title=title, steps=steps, about="Fingered on the bench.", trains=("fingering",))


OTHERWISE = ", refingered"
"""What the title of a drill ends in that was fingered on the bench."""


def _kept(drill: Drill, passage: Passage, asked: Asked) -> Iterator[Mapping[int, Taken]]:
    """Yield which notes stay as they were when something was set: all but its own shape's, then ever fewer.

    Nothing is yielded where what is set is taken so already.
    """
    ends = [end for _, end in spans_of(drill)]
    shapes = [bisect_right(ends, note.onset) for note in passage.notes]
    moved = {shapes[note] for note, taken in asked.pins if asked.near[note] != taken}
    away = [min((abs(shape - other) for other in moved), default=0) for shape in shapes]
    radius = 0
    while moved:
        kept = {note: taken for note, taken in enumerate(asked.near) if away[note] > radius}
        yield {**kept, **asked.pinned}
        if not kept:
            return
        radius = 2 * radius + 1


def _chosen(drill: Drill, asked: Asked, passage: Passage) -> Passage | None:
    """Return the passage with the chosen way set; None where neither the drill nor the player has chosen one."""
    if asked.chosen:
        return _pinned(passage, dict(enumerate(asked.chosen)))
    if any(step.shape.placings for step in drill.steps):
        return passage_of(drill, Keep.FINGERS)
    return None


def _pinned(passage: Passage, pins: Mapping[int, Taken]) -> Passage:
    """Return the passage with notes set; each keeps its place, which sorting by string might take from a unison."""

    def note(index: int, old: Note) -> Note:
        taken = pins.get(index)
        return old if taken is None else replace(old, string=taken.string, fret=taken.fret, finger=taken.finger)

    return replace(passage, notes=tuple(note(index, old) for index, old in enumerate(passage.notes)))


def _shape_of(found: Impossible, drill: Drill) -> int:
    return next(at for at, (_, end) in enumerate(spans_of(drill)) if found.onset < end)


def _why(found: Impossible, drill: Drill) -> str:
    return f"Shape {_shape_of(found, drill) + 1}, {' '.join(found.notes)}: {found.why}; {found.nearest}."
