"""Playing away from notation: how much of each shape is shown, less the better it is known.

A stage is a row of one table; a miss steps back, three clean steps on. What was recalled is kept apart from what was
read: a change into a shape whose board was in sight says nothing about memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum

from trainer.errors import wrong
from trainer.practice.course import Pair
from trainer.practice.record import How

CLEAN_IN_A_ROW = 3
"""So many clean in a row, and a shape is shown less."""
_TEXT = re.compile(r"\d:\d(?: \d:\d)*", re.ASCII)


class Stage(IntEnum):
    """How a shape is asked for, from the most shown to nothing."""

    BOARD = 0
    """It stands on the board with the change into it."""
    HIDDEN = 1
    """Its board is hidden until it has landed; its name is there."""
    NAME = 2
    """Only its name is there, and its board does not come even after it has landed."""
    BAR = 3
    """Only the number of its bar is there."""
    BLANK = 4
    """Nothing is there."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What is in sight of a shape."""

    board: bool
    """Its board before it has landed."""
    landed: bool
    """Its board once it has landed."""
    name: bool
    """Its name."""
    bar: bool
    """The number of its bar."""
    words: str
    """What the player is told of the stage."""


SHOWN = {
    Stage.BOARD: Shown(True, True, True, True, "full board"),
    Stage.HIDDEN: Shown(False, True, True, True, "hidden until landed"),
    Stage.NAME: Shown(False, False, True, True, "name only"),
    Stage.BAR: Shown(False, False, False, True, "bar number only"),
    Stage.BLANK: Shown(False, False, False, False, "blank"),
}
"""Every stage with what is in sight in it."""


@dataclass(frozen=True, slots=True)
class Recall:
    """How well one shape is known."""

    stage: Stage = Stage.BOARD
    """How it is asked for next."""
    streak: int = 0
    """Clean in a row at this stage."""

    @property
    def shown(self) -> Shown:
        """What is in sight of it next."""
        return SHOWN[self.stage]

    @property
    def how(self) -> How:
        """What playing it at this stage is logged as."""
        return How.READ if self.shown.board else How.RECALLED

    def after(self, clean: bool) -> Recall:
        """Return it after it was played."""
        if not clean:
            return Recall(Stage(max(self.stage - 1, Stage.BOARD)))
        if self.streak + 1 < CLEAN_IN_A_ROW:
            return replace(self, streak=self.streak + 1)
        # At the last stage the streak stays full: it is known, and one more clean does not make it more so.
        return Recall(Stage(self.stage + 1)) if self.stage < Stage.BLANK else Recall(Stage.BLANK, CLEAN_IN_A_ROW)


@dataclass(frozen=True, slots=True)
class Memory:
    """How well each shape of a drill is known."""

    shapes: tuple[Recall, ...]
    """One for each step of the drill."""

    @property
    def shuffling(self) -> bool:
        """True once every shape comes from memory in its own order: then the joins are asked for in any order."""
        return all(shape.stage >= Stage.NAME for shape in self.shapes)

    @property
    def known(self) -> int:
        """How many shapes came clean three times in a row with nothing in sight."""
        return sum(shape == Recall(Stage.BLANK, CLEAN_IN_A_ROW) for shape in self.shapes)

    def after(self, shape: int, clean: bool | None) -> Memory:
        """Return it after the shape of this index was reached; nothing changes where nobody said whether clean."""
        if clean is None:
            return self
        played = self.shapes[shape].after(clean)
        return Memory((*self.shapes[:shape], played, *self.shapes[shape + 1 :]))

    def order(self, pairs: Sequence[Pair], draws: Sequence[float]) -> tuple[Pair, ...]:
        """Return the drill's changes in the order they are asked for: musical, and once all are known shuffled.

        `draws` are chance, one number for each change, from a caller who has dice.
        """
        if not self.shuffling:
            return tuple(pairs)
        return tuple(pair for _, pair in sorted(zip(draws, pairs, strict=True)))

    @property
    def text(self) -> str:
        """The text form, which `read` takes back: stage and streak of each shape, `2:1 0:0`."""
        return " ".join(f"{shape.stage:d}:{shape.streak}" for shape in self.shapes)


def unread(shapes: int) -> Memory:
    """Return the memory of a drill of so many shapes that nobody has played yet."""
    return Memory((Recall(),) * shapes)


def read(text: str) -> Memory:
    """Return the memory of a text form. Raises ChangeoverError where it is none."""
    if not _TEXT.fullmatch(text.strip()):
        raise wrong("this is no memory of shapes", hint="stage and streak of each, as in 2:1 0:0")
    return Memory(tuple(_recall(int(pair[0]), int(pair[2])) for pair in text.split()))


def _recall(stage: int, streak: int) -> Recall:
    most = CLEAN_IN_A_ROW if stage == Stage.BLANK else CLEAN_IN_A_ROW - 1
    if stage > Stage.BLANK or streak > most:
        raise wrong(f"no stage {stage} with {streak} clean", hint=f"stages 0 to {Stage.BLANK:d}, streaks up to {most}")
    return Recall(Stage(stage), streak)


@dataclass(frozen=True, slots=True)
class Tally:
    """How many were clean of those that somebody spoke about, read and recalled apart."""

    read: tuple[int, int] = (0, 0)
    """(clean, answered) with the board in sight."""
    recalled: tuple[int, int] = (0, 0)
    """(clean, answered) from memory."""


def tally(played: Iterable[tuple[How, bool | None]]) -> Tally:
    """Return the tally of what was played: how each shape came, and whether it was clean where that was said."""
    counts = {How.READ: (0, 0), How.RECALLED: (0, 0)}
    for how, clean in played:
        if clean is not None:
            good, answered = counts[how]
            counts[how] = (good + clean, answered + 1)
    return Tally(counts[How.READ], counts[How.RECALLED])
