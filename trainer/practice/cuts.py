"""Where to cut a passage into segments: at bar lines, at shifts, at the slowest changes, none too long.

A cut lies in a change: the shape before it ends one segment, the shape after it begins the next, and the change itself
is the seam that is practised when the two are joined.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from statistics import median

from trainer.errors import wrong
from trainer.practice.drill import Segment

LONGEST = 4
"""Most changes in a segment unless the player sets another bound (common practice: short enough to hold in mind)."""
_SHIFT_FRETS = 2
"""A shift from here on is a place to cut."""
_SLOW = 1.4
"""So many times the passage's median change time, and the change is one of the slowest."""
_CUT = 1.0
"""What a cut costs; what speaks for it is weighed against this. These weights are ours, no source."""
_BAR, _SHIFT, _SLOWEST = 0.5, 0.6, 0.7
"""What a bar line, a shift and a slow change speak for a cut: two together are worth one that is not needed."""


@dataclass(frozen=True, slots=True)
class Joint:
    """What is known of one change of a passage, as far as it matters for cutting there."""

    on_bar: bool = False
    """True where the shape it leads to begins a bar."""
    shift: int = 0
    """Frets the hand shifts."""
    ms: float | None = None
    """Its median change time; None where it has not been timed."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A place to cut, and what speaks for it."""

    after: int
    """Number of the shape it comes after, from 1."""
    why: tuple[str, ...]
    """In plain words, the weightiest first."""


def joints(
    lengths: Sequence[Fraction], bar: int, shifts: Sequence[int], times_ms: Sequence[float | None] = ()
) -> tuple[Joint, ...]:
    """Return what is known of the changes of a passage, one fewer than shapes.

    `lengths` are the shapes' beats, `bar` the beats in a bar, the first shape beginning one; `shifts` are frets and
    `times_ms` median change times, one for each change, no times where none were taken.
    """
    starts = list(accumulate(lengths))[:-1]
    known = times_ms or [None] * len(starts)
    return tuple(Joint(start % bar == 0, shift, ms) for start, shift, ms in zip(starts, shifts, known, strict=True))


def suggest(passage: Sequence[Joint], longest: int = LONGEST) -> tuple[Cut, ...]:
    """Return where to cut a passage of these changes so that no segment has more than `longest` of them.

    Of all ways to cut, each segment keeping at least one change, the one whose cuts cost least: so as few as the bound
    asks for, where most speaks for them, and one more where enough does. An odd number of shapes cannot be cut into
    twos: there a bound of one change becomes two. Raises ChangeoverError for a bound below 1.
    """
    if longest < 1:
        raise wrong(f"segments of at most {longest} changes", hint="at least 1")
    slow = _slow_from(passage)
    bound = max(longest, 2 - len(passage) % 2)
    return tuple(
        Cut(after + 1, tuple(words for _, words in sorted(_reasons(passage[after], slow), reverse=True)))
        for after in _cheapest(costs(passage), bound)
    )


def costs(passage: Sequence[Joint]) -> list[float]:
    """Return what a cut in each change of a passage costs; less than nothing where enough speaks for it."""
    slow = _slow_from(passage)
    return [_CUT - sum(worth for worth, _ in _reasons(joint, slow)) for joint in passage]


def segments(shapes: int, cuts: Sequence[int]) -> tuple[Segment, ...]:
    """Return the segments of a passage of so many shapes, cut after the shapes of these numbers.

    They may come from `suggest` or from the player. Raises ChangeoverError where a segment would have no change.
    """
    edges = [0, *sorted(set(cuts)), shapes]
    for before, after in pairwise(edges):
        if after - before < 2:
            raise wrong(
                f"a segment of shape {before + 1} alone" if after > before else f"a cut after shape {before}",
                hint=f"each segment needs two shapes, within 1 to {shapes}",
            )
    return tuple(Segment(f"{first + 1} to {last}", first + 1, last) for first, last in pairwise(edges))


def _slow_from(passage: Sequence[Joint]) -> float | None:
    """Return from how many milliseconds a change is slow; None where fewer than three have been timed."""
    known = [joint.ms for joint in passage if joint.ms is not None]
    return median(known) * _SLOW if len(known) > 2 else None


def _reasons(joint: Joint, slow: float | None) -> list[tuple[float, str]]:
    reasons = []
    if slow is not None and joint.ms is not None and joint.ms >= slow:
        reasons.append((_SLOWEST, f"slow: {joint.ms:.0f} ms"))
    if abs(joint.shift) >= _SHIFT_FRETS:
        reasons.append((_SHIFT, f"the hand shifts {abs(joint.shift)} frets"))
    if joint.on_bar:
        reasons.append((_BAR, "bar line"))
    return reasons


def _cheapest(prices: Sequence[float], longest: int) -> tuple[int, ...]:
    """Return the changes to cut in, by dynamic programming from the end of the passage."""

    # For each change that a segment may begin with: what the cuts from there on cost, and where they lie.
    best: list[tuple[float, tuple[int, ...]]] = [(float("inf"), ())] * (len(prices) + 1)
    for start in reversed(range(len(prices))):
        # The segment takes `inside` changes, the next one is the seam.
        left = len(prices) - start
        ways: list[tuple[float, tuple[int, ...]]] = [(0.0, ())] if left <= longest else []
        for inside in range(1, min(longest, left - 2) + 1):
            seam = start + inside
            cost, rest = best[seam + 1]
            ways.append((prices[seam] + cost, (seam, *rest)))
        best[start] = min(ways, default=best[start], key=lambda way: (round(way[0], 9), len(way[1]), way[1]))
    return best[0][1]
