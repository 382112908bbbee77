"""Where the beats of a step fall: on a given grid, or by the tempo that the player keeps."""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate
from typing import TypeAlias

from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.settings import Grid
from trainer.listen.matcher.template import Template

Place: TypeAlias = Callable[[float], float]
"""From a beat of a step, counted from 1, to seconds."""


class Passage:
    """How the steps of a drill follow each other in beats."""

    def __init__(self, templates: tuple[Template, ...]) -> None:
        ends = tuple(accumulate(template.beats for template in templates))
        self._starts = (0.0, *ends[:-1])
        self._length = ends[-1]

    def place(self, grid: Grid, step: int, near: float) -> Place:
        """Return where the beats of `step` fall on `grid`, in the round that begins it closest to `near`."""
        lap = self._length * grid.beat_s
        start = grid.at + (self._starts[step] - self._starts[grid.step]) * grid.beat_s
        start += lap * round((near - start) / lap)
        return lambda beat: start + (beat - 1) * grid.beat_s


def played(old: Attempt) -> Place | None:
    """Return where the beats of the step after `old` would fall if its tempo were kept; None where it shows none.

    A straight line through its onsets over their written beats, by least squares; it takes two strokes. Where `old` was
    played several times before it was left, the last time counts.
    """
    points = [(old.template.slots[index].beat, note.on) for index, note in old.latest_round.items()]
    if len({beat for beat, _ in points}) < 2:
        return None
    mean_beat = sum(beat for beat, _ in points) / len(points)
    mean_time = sum(time for _, time in points) / len(points)
    slope = sum((beat - mean_beat) * (time - mean_time) for beat, time in points) / sum(
        (beat - mean_beat) ** 2 for beat, _ in points
    )
    if slope <= 0:
        return None
    beats = old.template.beats
    return lambda beat: mean_time + (beats + beat - mean_beat) * slope
