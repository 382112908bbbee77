"""Whose the fingers of a drill are: those that were given, the program's, and those that the player has set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Passage
from trainer.practice.drill import Drill
from trainer.practice.fingering import fingered, spans_of


def credit(program: Sequence[int], player: Sequence[int]) -> str:
    """Return which fingers are whose: `fingers 1 2 by the program, finger 3 set by the player`; empty for none."""
    told = ((program, "by the program"), (player, "set by the player"))
    return ", ".join(
        f"finger{'s' if len(fingers) > 1 else ''} {' '.join(map(str, fingers))} {how}"
        for fingers, how in told
        if fingers
    )


def credits_of(fingers: int, program: int, player: int, given: str) -> str:
    """Return how many of so many fingers are whose, as a sentence; `given`: how those are that were there before."""
    kept = max(fingers - program - player, 0)
    told = [f"{count} {how}" for count, how in ((kept, given), (player, "set by the player")) if count]
    if not told:
        return "All fingers are the program's."
    first, _, rest = told[0].partition(" ")
    told[0] = f"{first} of {fingers} fingers {rest}"
    if program:
        told.append("the others are the program's")
    return f"{', '.join(told)}."


def credited(drill: Drill, way: Fingering, given: Passage, how: str, places: Sequence[str] = ()) -> Drill:
    """Return `drill` as `way` takes it, told whose its fingers are.

    `given` is the passage before the player set anything, `how` says how its fingers are; `places` are what each
    shape's note says of where it is. What was written of other fingers is left out. Raises ChangeoverError as
    `fingered` does.
    """
    new = fingered(drill, way)
    changed = [after.shape != before.shape for after, before in zip(new.steps, drill.steps, strict=True)]
    if not places and not any(changed):
        return drill
    whose = [_whose(way, given, start, end) for start, end in spans_of(drill)]
    notes = [
        _sentence(place, credit(each.program, each.player))
        for place, each in zip(places or [""] * len(whose), whose, strict=True)
    ]
    steps = tuple(
        replace(step, note=note) if places or other else step
        for step, note, other in zip(new.steps, notes, changed, strict=True)
    )
    kept, program, player = (sum(map(len, fingers)) for fingers in zip(*whose, strict=True))
    about = credits_of(kept + program + player, program, player, how) if program or player else f"Fingered {how}."
    return replace(new, steps=steps, about=about, trains=("fingering",) if drill.trains else ())


class _Whose(NamedTuple):
    """The fingers of a stretch, ascending, by who set them."""

    kept: tuple[int, ...]
    program: tuple[int, ...]
    player: tuple[int, ...]


def _whose(way: Fingering, given: Passage, start: Fraction, end: Fraction) -> _Whose:
    """Return whose the fingers of a stretch are; one that was given once in it stands for all of it."""
    kept: set[int] = set()
    program: set[int] = set()
    player: set[int] = set()
    for old, note, taken in zip(given.notes, way.passage.notes, way.notes, strict=True):
        if taken.finger and start <= note.onset < end:
            whose = program if note.finger is None else kept if note.finger == old.finger else player
            whose.add(taken.finger)
    return _Whose(*(tuple(sorted(each)) for each in (kept, program - kept - player, player - kept)))


def _sentence(*clauses: str) -> str:
    """Return the clauses that say anything as one sentence; empty where none does."""
    said = "; ".join(filter(None, clauses))
    return f"{said[:1].upper()}{said[1:]}." if said else ""
