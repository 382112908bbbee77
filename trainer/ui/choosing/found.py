"""What some bars of a score come to: read, cut into shapes and fingered. All of it may run on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from trainer.errors import ChangeoverError, Problem
from trainer.practice.drill import Drill
from trainer.scores.drilling import Made, drill_of
from trainer.scores.excerpt import Excerpt, excerpt
from trainer.scores.hands import searched
from trainer.scores.source import load
from trainer.ui.choosing.asked import Asked, Choosing, Place, choosing

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Found:
    """The outcome for what was asked."""

    asked: Asked
    """What was asked for."""
    excerpt: Excerpt | None = None
    """The bars as they sound; None where they cannot be had."""
    made: Made | None = None
    """The drill; None where none comes of it."""
    problem: Problem | None = None
    """Why there is no drill."""

    @property
    def drill(self) -> Drill | None:
        """The drill, where there is one."""
        return None if self.made is None else self.made.drill

    @property
    def strokes(self) -> tuple[Fraction, ...]:
        """The onsets at which something is struck or a diagram stands."""
        if self.excerpt is None:
            return ()
        diagrams = {at for at, symbol in self.excerpt.symbols if symbol.shape is not None}
        return tuple(sorted({tone.onset for tone in self.excerpt.tones} | diagrams))

    @property
    def begins(self) -> frozenset[Fraction]:
        """The onsets at which a shape begins."""
        return frozenset() if self.made is None else frozenset(run.onset for run in self.made.runs)

    def place(self, onset: Fraction) -> Place:
        """Return the bar that `onset` falls in, and where in it. The bars are those of an outcome with an excerpt."""
        at, bar = (Fraction(0), 0) if self.excerpt is None else self.excerpt.bar_at(onset)
        return bar, onset - at

    def shape_at(self, onset: Fraction) -> int:
        """Return the index of the shape that sounds at `onset`; the first where none has begun."""
        runs = () if self.made is None else self.made.runs
        return max(sum(run.onset <= onset for run in runs) - 1, 0)


def opened(path: Path) -> Choosing | Problem:
    """Return what may be chosen of the score at `path`, or why it cannot be had; never raises."""
    return _told(lambda: choosing(load(path), str(path)), path)


def worked_out(path: Path, chosen: Choosing) -> Found:
    """Return what comes of what is asked; never raises. It takes up to a second a bar."""
    asked, file = chosen.asked, str(path)
    numbers = [chosen.score.bars[index].number for index in (asked.first, asked.last)]
    taken = _told(
        lambda: excerpt(
            chosen.score,
            chosen.part,
            file,
            bars="-".join(numbers),
            voices=(asked.voice,) if asked.voice else (),
            as_played=asked.as_played,
        ),
        path,
    )
    if isinstance(taken, Problem):
        return Found(asked, problem=taken)
    made = _told(
        lambda: drill_of(
            chosen.score,
            taken,
            file,
            split=asked.onsets(asked.split, taken),
            join=asked.onsets(asked.join, taken),
            finger=searched,
        ),
        path,
    )
    return Found(asked, taken, problem=made) if isinstance(made, Problem) else Found(asked, taken, made)


def _told(work: Callable[[], _T], path: Path) -> _T | Problem:
    try:
        return work()
    except ChangeoverError as error:
        return error.problems[0]
    except Exception as error:  # a score is anybody's file: no fault of ours in it may end the app
        what = f"cannot be used: {type(error).__name__} in the program"
        return Problem(what, file=str(path), hint="please report it")
