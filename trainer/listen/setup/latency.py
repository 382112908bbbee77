"""How late each string is heard, learned from strings struck together along with a beat.

What one stroke tells: the strings left the fingers together, so what lies between their arrivals is the difference of
their delays. Many strokes of a few strings, in groups that overlap, tie all strings to each other; how early or late
the whole stroke was cancels. These differences decide whether a chord counts as block or rolled.

What it cannot tell: the delay that all strings share. A player strikes some way before or after a beat by habit, most
before it, and hears or sees the beat late by what screen and bell need; all of that is in the distance from the beat.
So the shared part is what physics asks at the least (two periods of each string, on average), or the distance from the
beat where that is larger: then nobody is called late for what the machine needs. A change time is a difference, and the
shared part cancels in it.

A plectrum's sweep would pass for a delay, so strings are plucked together with the fingers: thumb on a bass string,
index, middle and ring finger on strings 3, 2 and 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, median
from types import MappingProxyType

from trainer.listen.setup.robust import margin, scatter

TREBLE = (3, 2, 1)
"""Strings of the three fingers."""
STROKES = 8
"""Strokes asked for with each bass string."""
TOGETHER_S = 0.08
"""A stroke whose strings arrive further apart was not struck together: twice the largest delay between strings (18 ms)
and a clumsy hand (common practice, no source)."""
STRAY = 0.25
"""Part of a beat; a stroke further from its beat than this was not struck with it."""
FEWEST = 4
"""Strokes below which a string's own delay is not told."""
WORTH_MS = 6.0
"""A margin of a string's delay beyond this is worth nothing: a third of what the outer strings differ by (18 ms)."""
STEADY_MS = 15.0
"""A margin of the distance from the beat beyond this is worth nothing: as long as the delay itself."""
LARGEST_MS = 150.0
"""No machine needs more between beat and ear; beyond this it is the player."""
_ROUNDS = 20
_SWEEPS = 2
_GROSS = 3.0
"""Notes further from their place than this many times the scatter of all are mistakes of a finger or the tracker."""
_LINE_MS = 0.5
"""Half of what a note takes on a MIDI line (three bytes, 0.96 ms): no margin is smaller."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Strings struck together with one beat."""

    beat: float
    """When the beat fell, seconds."""
    onsets: Mapping[int, float]
    """When each string arrived, seconds, nothing taken off."""


@dataclass(frozen=True, slots=True)
class Latency:
    """What strokes tell of a guitar's delay."""

    by_string: Mapping[int, float]
    """Milliseconds by which each string is heard late: the difference measured, the shared part as said above."""
    margin_ms: Mapping[int, float]
    """How far the difference of each string to the others may be off, either way, in 95 cases of 100."""
    beat_ms: float | None
    """How far after the beat the strokes were struck (before it: negative), delays taken off; None: not told."""
    beat_margin_ms: float
    """The same for that."""
    strokes: int
    """Strokes used."""
    left_out: int
    """Strokes that were not: not together, or not with the beat."""

    @property
    def apart(self) -> bool:
        """Tell whether the strings' differences are worth keeping."""
        return len(self.margin_ms) > 1 and max(self.margin_ms.values()) <= WORTH_MS

    @property
    def steady(self) -> bool:
        """Tell whether the distance from the beat is worth telling."""
        return self.beat_ms is not None and self.beat_margin_ms <= STEADY_MS

    @property
    def words(self) -> str:
        """What it is worth."""
        told = [self._of_strings()]
        seldom = [str(string) for string in self.by_string if string not in self.margin_ms]
        if self.apart and seldom:
            told.append(f"Too seldom heard for more than two periods: {', '.join(seldom)}.")
        if self.beat_ms is not None and self.steady:
            way = "after" if self.beat_ms >= 0 else "before"
            told.append(
                f"You strike {abs(self.beat_ms):.0f} ms ± {self.beat_margin_ms:.0f} {way} the beat; "
                "habit, screen and bell are in that."
            )
        elif self.strokes:
            told.append("With the beat: too uneven to tell.")
        return " ".join(told)

    def _of_strings(self) -> str:
        out = f", {self.left_out} left out" if self.left_out else ""
        if self.apart:
            worst = max(self.margin_ms.values())
            return f"Strings are known to ± {worst:.1f} ms, from {self.strokes} strokes{out}."
        if self.strokes < FEWEST:
            return f"Only {self.strokes} strokes of strings struck together{out}: once more, all four at once."
        return f"Too uneven from {self.strokes} strokes{out}: once more, all four at once; these count too."


def groups(strings: int) -> tuple[tuple[int, ...], ...]:
    """Return the strings to strike together, a bass string and the three fingers' each time."""
    return tuple((bass, *TREBLE) for bass in range(strings, 3, -1))


def estimate(strokes: Sequence[Stroke], at_least: Mapping[int, float], beat_s: float) -> Latency:
    """Return what `strokes` tell; `at_least` is the delay in milliseconds that physics asks of each string."""
    together = [stroke for stroke in strokes if _together(stroke)]
    for _ in range(_SWEEPS):
        together = _swept(together, *_fit(together, at_least))
    late, at = _fit(together, at_least)
    rests = _rests(together, late, at)
    known = {string: rest for string, rest in rests.items() if len(rest) >= FEWEST}
    margins = _margins(known, together)
    shared = fmean(at_least[string] for string in known) if known else 0.0
    middle = fmean(late[string] for string in known) if known else 0.0
    by_string = {string: late[string] - middle + shared if string in known else at_least[string] for string in at_least}
    # Where the shared part is moved to what physics asks, the strokes move against it.
    offsets = [1000 * (moment - stroke.beat) + middle - shared for moment, stroke in zip(at, together, strict=True)]
    return _with_beat(by_string, margins, offsets, strokes, beat_s)


def _with_beat(
    by_string: dict[int, float], margins: dict[int, float], offsets: list[float], every: Sequence[Stroke], beat_s: float
) -> Latency:
    """Return the result: shared part raised to the distance from the beat, where that is known and larger."""
    near = [offset for offset in offsets if abs(offset) <= 1000 * STRAY * beat_s]
    told = len(near) >= max(FEWEST, len(offsets) / 2)
    beat = median(near) if told else None
    sure = margin(len(near), scatter(near)) if told else float("inf")
    more = 0.0
    if beat is not None and sure <= STEADY_MS and sure < beat <= LARGEST_MS:
        more = beat
    return Latency(
        by_string=MappingProxyType({string: max(ms + more, 0.0) for string, ms in by_string.items()}),
        margin_ms=MappingProxyType(margins),
        beat_ms=beat,
        beat_margin_ms=sure,
        strokes=len(offsets),
        left_out=len(every) - len(offsets),
    )


def _together(stroke: Stroke) -> bool:
    onsets = stroke.onsets.values()
    return len(onsets) > 1 and max(onsets) - min(onsets) <= TOGETHER_S


def _swept(strokes: Sequence[Stroke], late: Mapping[int, float], at: Sequence[float]) -> list[Stroke]:
    """Return the strokes without notes that are far from where the others put them."""
    rests = _rests(strokes, late, at)
    bound = _GROSS * max(scatter([rest for every in rests.values() for rest in every]), _LINE_MS) / 1000
    swept = [
        Stroke(
            stroke.beat,
            {string: on for string, on in stroke.onsets.items() if abs(on - moment - late[string] / 1000) <= bound},
        )
        for stroke, moment in zip(strokes, at, strict=True)
    ]
    return [stroke for stroke in swept if _together(stroke)]


def _fit(strokes: Sequence[Stroke], start: Mapping[int, float]) -> tuple[dict[int, float], list[float]]:
    """Return each string's delay in milliseconds and when each stroke was struck: onset = struck + delay, robustly.

    In turn each stroke is placed by the mean over its strings, each string by the median over its strokes.
    """
    late = dict(start)
    at: list[float] = []
    for _ in range(_ROUNDS):
        at = [fmean(on - late[string] / 1000 for string, on in stroke.onsets.items()) for stroke in strokes]
        for string, rest in _rests(strokes, dict.fromkeys(start, 0.0), at).items():
            late[string] = median(rest)
    return late, at


def _rests(strokes: Sequence[Stroke], late: Mapping[int, float], at: Sequence[float]) -> dict[int, list[float]]:
    """Return for each string, in milliseconds, what its onsets lie after stroke and delay."""
    rests: dict[int, list[float]] = {}
    for stroke, moment in zip(strokes, at, strict=True):
        for string, on in stroke.onsets.items():
            rests.setdefault(string, []).append(1000 * (on - moment) - late[string])
    return rests


def _margins(rests: Mapping[int, Sequence[float]], strokes: Sequence[Stroke]) -> dict[int, float]:
    """Return the margin of each string's delay. One hand struck them all, so the scatter is that of all strings.

    A stroke of n strings is placed by them, and hides 1/n of their variance.
    """
    if not rests:
        return {}
    shown = 1 - 1 / fmean(len(stroke.onsets) for stroke in strokes)
    sigma = scatter([rest for every in rests.values() for rest in every]) / sqrt(shown)
    return {string: max(margin(len(rest), sigma), _LINE_MS) for string, rest in rests.items()}
