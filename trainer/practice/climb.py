"""The tempo ladder over runs to the beat.

A run has one tempo, so a run is one try of the ladder: clean where every change of it landed. How many clean runs in a
row make it rise follows from how many changes a run has, so that at least three clean changes in a row are behind each
step up (Levitt's rule in groups, as in `practice.ladder`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, islice
from typing import TYPE_CHECKING

from trainer.practice.ladder import (
    FEWEST_TURNS,
    NEWEST,
    Estimate,
    Ladder,
    Rule,
    Standing,
    Target,
    Try,
    from_tries,
    standing,
)
from trainer.practice.record import How
from trainer.practice.tempo import FASTEST

if TYPE_CHECKING:
    from trainer.practice.record import Run

IN_A_ROW = 3
"""So many changes in a row have to be clean for a step up."""


@dataclass(frozen=True, slots=True)
class Played:
    """A run to the beat that was answered."""

    tempo: float
    """Beats per minute."""
    landed: int
    """How many of its changes landed; where they were heard, how many of those were not found unclean."""
    asked: int
    """How many went by, at least one."""
    day: int = 0
    """Number of the day where the player is, any day being 0."""
    how: How = How.READ
    """Whether its shapes had been in sight; runs of both kinds say nothing of each other."""

    @property
    def tries(self) -> tuple[Try, ...]:
        """Each of its changes as a try.

        Which of them did not land nobody said: they are spread evenly, which makes the longest clean row as short as it
        can be.
        """
        missed = self.asked - self.landed
        return tuple(
            Try(self.tempo, (number + 1) * missed // self.asked == number * missed // self.asked, self.day)
            for number in range(self.asked)
        )


@dataclass(frozen=True, slots=True)
class Height:
    """What runs to the beat say of a tempo."""

    estimate: Estimate | None
    """The tempo that is clean four times in five; None where the ladder has turned too seldom to tell."""
    standing: Standing | None
    """How the target stands; None without one."""


@dataclass(frozen=True, slots=True)
class Climb:
    """How far runs have climbed the ladder, to be gone on from: however many they were, none is climbed again."""

    top: float = FASTEST
    """The highest rung, unless the player goes beyond it."""
    ladder: Ladder | None = None
    """Where they have come to; None before the first."""
    runs: int = 0
    """How many they were."""

    def after(self, runs: Iterable[Played]) -> Climb:
        """Return the climb after these runs more, oldest first.

        A run at another tempo than the ladder's was the player's own wish: it goes on from there.
        """
        ladder, number = self.ladder, self.runs
        for run in runs:
            rule = Rule(clean=math.ceil(IN_A_ROW / run.asked))
            if ladder is None:
                ladder = Ladder(run.tempo, max(self.top, run.tempo), rule)
            elif run.tempo != ladder.tempo:
                ladder = replace(ladder, tempo=run.tempo, top=max(self.top, run.tempo), streak=0)
            ladder = replace(ladder, rule=rule).after(run.landed == run.asked, run.day)
            number += 1
        return Climb(self.top, ladder, number)


def played(run: Run, day: int) -> Played | None:
    """Return a run of the log, played on `day`, where it was to the beat and answered."""
    if run.tempo is None or run.landed is None or not run.asked or not 0 <= run.landed <= run.asked:
        return None
    return Played(run.tempo, run.landed, run.asked, day, run.how)


def climbed(runs: Iterable[Played], top: float = FASTEST) -> Ladder | None:
    """Return the ladder after `runs`, oldest first; None before the first."""
    return Climb(top).after(runs).ladder


@lru_cache(maxsize=4)
def height(runs: tuple[Played, ...], target: Target | None = None) -> Height:
    """Return what `runs`, oldest first, say of the newest changes, and how they stand to `target`.

    What was told last is remembered: a screen asks with every beat, and the runs stay the same. Of many runs only the
    newest are looked at closely.
    """
    return Height(
        from_tries(_newest_tries(runs)) if _turned_enough(runs) else None,
        None if target is None else standing(_tries(run for run in runs if run.tempo >= target.tempo), target),
    )


def _turned_enough(runs: Iterable[Played]) -> bool:
    climb = Climb()
    for run in runs:
        climb = climb.after((run,))
        if climb.ladder is not None and len(climb.ladder.turns) >= FEWEST_TURNS:
            return True
    return False


def _newest_tries(runs: Sequence[Played]) -> Iterator[Try]:
    """Return as many tries as an estimate looks at, the newest first."""
    return islice((one for run in reversed(runs) for one in reversed(run.tries)), NEWEST)


def _tries(runs: Iterable[Played]) -> Iterator[Try]:
    return chain.from_iterable(run.tries for run in runs)
