"""Striking along with a beat: which strings are to be struck on which beat, and what was struck on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import floor
from types import MappingProxyType

from trainer.listen.setup.latency import STROKES, Stroke, groups

BEAT_S = 1.0
"""Seconds from beat to beat: slow enough to pluck four strings together each time."""
LEAD = 4
"""Beats that are counted before each group of strings, to put the fingers in place."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the routine a moment is."""

    group: int
    """Index of the group of strings."""
    beat: int
    """Beat within the group from 0; below `LEAD` it is counted, from there on it is struck."""

    @property
    def counting(self) -> bool:
        """Tell whether nothing is to be struck yet."""
        return self.beat < LEAD


@dataclass(frozen=True, slots=True)
class Striking:
    """One go at the routine. Every method returns a new value."""

    strings: int
    """Number of strings of the guitar."""
    start: float | None = None
    """When the first beat falls, seconds; None before it begins."""
    onsets: tuple[tuple[float, int], ...] = field(default=())
    """(seconds, string) of every note."""

    @property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """The strings to be struck together, group after group."""
        return groups(self.strings)

    @property
    def beats(self) -> int:
        """Beats of the whole routine."""
        return len(self.groups) * (LEAD + STROKES)

    def place(self, now: float) -> Place | None:
        """Return where `now` is; None before the beginning and after the end."""
        if self.start is None:
            return None
        number = floor((now - self.start) / BEAT_S + 1e-9)
        return Place(*divmod(number, LEAD + STROKES)) if 0 <= number < self.beats else None

    def over(self, now: float) -> bool:
        """Tell whether the last stroke is over."""
        return self.start is not None and now > self.start + self.beats * BEAT_S

    def next_beat(self, now: float) -> float | None:
        """Return the first beat after `now`; None where there is none."""
        if self.start is None:
            return None
        number = max(floor((now - self.start) / BEAT_S + 1e-9) + 1, 0)
        return self.start + number * BEAT_S if number < self.beats else None

    def struck(self, at: float, string: int) -> Striking:
        """Take a note."""
        return replace(self, onsets=(*self.onsets, (at, string)))

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """What was struck on each beat: of each string asked for there, the note nearest to the beat."""
        if self.start is None:
            return ()
        nearest: dict[int, dict[int, float]] = {}
        for at, string in self.onsets:
            number = round((at - self.start) / BEAT_S)
            group, beat = divmod(number, LEAD + STROKES)
            if not 0 <= number < self.beats or beat < LEAD or string not in self.groups[group]:
                continue
            moment, struck = self.start + number * BEAT_S, nearest.setdefault(number, {})
            if string not in struck or abs(at - moment) < abs(struck[string] - moment):
                struck[string] = at
        return tuple(self._stroke(number, struck) for number, struck in sorted(nearest.items()))

    def _stroke(self, number: int, struck: Mapping[int, float]) -> Stroke:
        assert self.start is not None  # noqa: S101  # there are strokes only once it has begun
        return Stroke(self.start + number * BEAT_S, MappingProxyType(dict(struck)))
