"""A drill laid out in time for writing: which strings sound from when to when, voice by voice, shape by shape."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from trainer.practice.drill import Drill, Step

MELODY, REST = 0, 1
"""The voices: the melody's string, and every other."""


@dataclass(frozen=True, slots=True)
class Sounding:
    """Strings of one voice struck at one moment."""

    onset: Fraction
    """Quarters from the start of the drill."""
    end: Fraction
    """When the voice strikes again, or the shape is left."""
    step: int
    """Index of the shape it is played from."""
    strings: tuple[int, ...]
    """Low to high; empty: a rest."""
    right_hand: tuple[str | None, ...]
    """A finger of the right hand for each string."""
    first: bool
    """True for the first stroke of its shape."""


def voices(drill: Drill) -> tuple[tuple[Sounding, ...], ...]:
    """Return the voices of `drill`: the melody and the rest where a shape has a melody, else one voice of all."""
    if not any(step.melody for step in drill.steps):
        return (_voice(drill, None),)
    return (_voice(drill, MELODY), _voice(drill, REST))


def _voice(drill: Drill, voice: int | None) -> tuple[Sounding, ...]:
    found = []
    for index, (start, step) in enumerate(zip(drill.onsets, drill.steps, strict=False)):
        found += _of_step(step, index, voice, start, drill.beat)
    return tuple(found)


def _of_step(step: Step, index: int, voice: int | None, start: Fraction, unit: Fraction) -> list[Sounding]:
    struck = []
    for number, stroke in enumerate(step.plucked.strokes):
        right = stroke.right_hand or (None,) * len(stroke.strings)
        own = sorted(
            (
                (string, finger)
                for string, finger in zip(stroke.strings, right, strict=True)
                if _in(string, step, voice)
            ),
            reverse=True,
        )
        if own:
            onset = start + (stroke.beat - 1) * unit
            struck.append((onset, tuple(string for string, _ in own), tuple(finger for _, finger in own), number == 0))
    end = start + step.beats * unit
    ends = [*(onset for onset, *_ in struck), end]
    found = [] if struck and struck[0][0] == start else [Sounding(start, ends[0], index, (), (), first=False)]
    for each, until in zip(struck, ends[1:], strict=True):
        onset, strings, fingers, first = each
        found.append(Sounding(onset, until, index, strings, fingers, first))
    return found


def _in(string: int, step: Step, voice: int | None) -> bool:
    return voice is None or (voice == MELODY) == (string == step.melody)
