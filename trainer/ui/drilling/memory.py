"""Playing one drill from memory: how much is shown of each shape, what of it was recalled, in which order to go on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from trainer.practice.course import Course, Pair
from trainer.practice.drill import Drill
from trainer.practice.effects import Summary
from trainer.practice.phases import Mode
from trainer.practice.recall import SHOWN, Memory, Recall, Shown, Stage, unread
from trainer.practice.record import How, Timing
from trainer.practice.state import Session, Try

BLANK = "?"
"""Stands for what is not to be seen."""
_ALL = SHOWN[Stage.BOARD]
_IN_ORDER = frozenset({Mode.HEARD, Mode.WALK})
"""Ways to practise in which the order stays: an ear follows the drill, and nothing is asked of a reader."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What is to be seen of a drill at one moment."""

    drill: Drill
    """With the names that may be read."""
    board: Pair | None
    """The change that may be drawn; twice the same shape where only that one may be; None for an empty neck."""
    after: Pair | None
    """The change after it whose shape may be drawn; None where it may not."""
    words: str
    """What is said in place of the change's own words; empty where those may be read."""


class ByHeart:
    """What is known by heart of one drill; every new state of it is handed to `keep`."""

    def __init__(
        self, drill: Drill, kept: Memory | None, keep: Callable[[Memory], None], draw: Callable[[], float]
    ) -> None:
        """Go on from what was `kept` where it is of this drill; `draw` gives chance between 0 and 1."""
        self._drill, self._keep, self._draw = drill, keep, draw
        steps = len(drill.steps)
        self._base = kept if kept is not None and len(kept.shapes) == steps else unread(steps)
        self._handed = self._base
        self._after = self._runs = 0
        self._course: Course | None = None
        self.on = False
        """True while shapes are asked for from memory."""

    def begin(self, session: Session) -> None:
        """Ask for shapes from memory from here on."""
        self.on, self._course = True, session.course
        self._after, self._runs = session.serial, len(session.ended)

    def renew(self, old: Session, new: Session) -> None:
        """Go on in a new session where there was an old one."""
        if self.on:
            self.end(old)
            self.begin(new)

    def end(self, session: Session) -> None:
        """Show every shape again; what was learned stays, and so it does at the end of a session."""
        if self.on:
            self._base = self.known(session)
            self._hand_over(self._base)
        self.on = False

    def save(self, session: Session) -> None:
        """Hand over what is known by now, so that a crash loses nothing of it; what is taken back may still be."""
        if self.on:
            self._hand_over(self.known(session))

    def known(self, session: Session, before: int | None = None) -> Memory:
        """Return what is known once all of `session` is taken in, or what of it came before try number `before`."""
        memory = self._base
        for number, shape, clean in self._played(session):
            if before is None or number < before:
                memory = memory.after(shape, clean)
        return memory

    def how(self, session: Session, pair: Pair, number: int | None = None) -> How:
        """Return where the shape that a change leads to comes from: at try `number`, or where it is asked for next."""
        if not self.on or session.mode is Mode.WALK:
            return How.READ
        return self.known(session, number).shapes[pair[1]].how

    def how_of_run(self, session: Session, run: int) -> How:
        """Return whether any shape of the run under way, or just over, was asked for from memory when it began."""
        if not self.on or session.mode is Mode.WALK:
            return How.READ
        tries = tuple(one for one in session.tries if one.run < run)
        ended = tuple(one for one in session.ended if one.run < run)
        shapes = self.known(replace(session, tries=tries, ended=ended)).shapes
        asked = (shapes[leg.pair[1]].how for leg in session.route if leg.counted)
        return How.RECALLED if How.RECALLED in asked else How.READ

    def sight(self, session: Session, pair: Pair, after: Pair | None) -> Sight:
        """Return what is to be seen of the change at hand and the one after it."""
        if not self.on or session.mode is Mode.WALK:
            return Sight(self._drill, pair, after, "")
        shapes = self.known(session).shapes
        left, reached = shapes[pair[0]].shown, shapes[pair[1]].shown
        board: Pair | None = pair
        if not reached.board:
            board = (pair[0], pair[0]) if left.landed else None
        elif not left.landed:
            board = (pair[1], pair[1])
        seen = after is not None and shapes[after[1]].shown.board
        words = "" if reached.board else f"From memory: {reached.words}."
        return Sight(self._named(shapes), board, after if seen else None, words)

    def next_course(self, session: Session) -> Course:
        """Return the course to go on with once a run is over: in its order, or shuffled where all is known well."""
        course = self._course or session.course
        known = self.known(session)
        if session.mode in _IN_ORDER or not known.shuffling:
            return course
        return replace(course, pairs=known.order(course.pairs, [self._draw() for _ in course.pairs]))

    def _hand_over(self, memory: Memory) -> None:
        if memory != self._handed:
            self._handed = memory
            self._keep(memory)

    def _named(self, shapes: tuple[Recall, ...]) -> Drill:
        """Return the drill with the names that may be read."""
        bars = _bars(self._drill)
        steps = tuple(
            replace(step, label=_name(step.label, shape.shown, number + 1, bars[number]))
            for number, (step, shape) in enumerate(zip(self._drill.steps, shapes, strict=True))
        )
        return replace(self._drill, steps=steps)

    def _played(self, session: Session) -> Iterator[tuple[int, int, bool | None]]:
        """Yield (number of the try, shape reached, clean or None where nobody said) of what was played, in order."""
        for one in session.tries:
            if one.number > self._after:
                yield one.number, one.pair[1], _clean(one)
        heard = {one.run for one in session.tries}
        for run in session.ended[self._runs :]:
            if run.tempo is not None and run.run not in heard:
                yield from ((-1, shape, clean) for shape, clean in _answered(session.course, run))


def _answered(course: Course, run: Summary) -> Iterator[tuple[int, bool]]:
    """Yield each shape of a run to the beat that nobody heard, as far as the answer tells which were clean.

    All landed, so each was; where only one shape was asked for, a miss was that one's. More is not known, and nothing
    of a course that is played in several runs.
    """
    reached = [leg.pair[1] for leg in course.part(0) if leg.counted] if course.parts == 1 else []
    if run.landed == run.asked:
        yield from ((shape, True) for shape in reached)
    elif len(set(reached)) == 1:
        yield reached[0], False


def _clean(one: Try) -> bool | None:
    """Return whether a change was clean; with keys a player only ever says what was not."""
    if not one.landed:
        return False
    return one.clean if one.timing is Timing.HEARD else one.clean is not False


def _name(label: str, shown: Shown, number: int, bar: int) -> str:
    """Return what a shape may be called; one without a label is not called by its text form, which gives it away."""
    if shown.board:
        return label
    if shown.name:
        return label or f"shape {number}"
    return f"bar {bar}" if shown.bar else BLANK


def _bars(drill: Drill) -> list[int]:
    """Return the number of the bar in which each step begins, from 1."""
    begins = accumulate(drill.lengths, initial=Fraction(0))
    return [int(begin // drill.meter[0]) + 1 for begin in begins]
