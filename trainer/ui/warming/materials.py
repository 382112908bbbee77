"""What a warm-up is made from: drills fit for it, the tempo that was clean lately, days since the last practice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, Problem
from trainer.files.library import library
from trainer.practice.load import heaviest, of_change
from trainer.practice.passage import passage
from trainer.practice.warmup import Material

if TYPE_CHECKING:
    from trainer.hand.reach import Hand
    from trainer.practice.drill import Drill
    from trainer.practice.record import Run

TRAINS = frozenset({"warm-up", "independence"})
"""What a drill trains that is fit to warm up with."""
OVER = "Done. Warm hands are no licence: stop when something hurts."
"""Said at the end."""
LATELY = 200
"""So many newest runs are looked through for the tempo that was clean lately."""


def drills() -> dict[str, Drill]:
    """Return the drills fit to warm up with, by name; one that cannot be read is left out, `check` says why."""
    found = {}
    for entry in library().entries:
        if TRAINS & set(entry.head.trains):
            drill, _ = entry.load()
            if drill is not None:
                found[entry.name] = drill
    return found


def materials(fit: Mapping[str, Drill], hand: Hand, runs: Sequence[Run]) -> list[Material]:
    """Return these drills as what a warm-up is planned from."""
    return [_material(name, drill, hand, runs) for name, drill in fit.items()]


def runs_lately(log: Path) -> tuple[list[Run], tuple[Problem, ...]]:
    """Return the newest runs, and why the log cannot be read: that must not keep anyone from warming up."""
    from trainer.log.history import reading

    try:
        with reading(log) as history:
            return history.runs(newest=LATELY), ()
    except ChangeoverError as error:
        return [], error.problems


def days_off(runs: Sequence[Run], today: date) -> int:
    """Return the days since the last practice; 0 where there has been none: nobody has been away from what is new."""
    if not runs:
        return 0
    try:
        return max((today - date.fromtimestamp(runs[0].at)).days, 0)
    except (OverflowError, ValueError, OSError):
        return 0


def _material(name: str, drill: Drill, hand: Hand, runs: Sequence[Run]) -> Material:
    return Material(
        name=name,
        title=drill.title,
        changes=len(drill.pairs),
        beats=float(sum(drill.lengths) / len(drill.steps)),
        tempo=_clean_tempo(drill, runs),
        strain=heaviest([of_change(passing.change) for passing in passage(drill, hand)]),
        caution=drill.caution,
    )


def _clean_tempo(drill: Drill, runs: Sequence[Run]) -> float:
    """Return the tempo of the newest paced run in which every change landed, but no more than the drill's own."""
    clean = (
        one.tempo for one in runs if one.drill == drill.title and one.tempo and one.asked and one.landed == one.asked
    )
    return min(next(clean, drill.tempo), drill.tempo)
