"""Where in the bar a drill breaks: which place stands out from the rest by more than chance. Values only."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from statistics import median

from trainer.practice.beats import FEWEST, Due, number

LATER_MS = 30.0
"""A place breaks by lateness only where it is later by this than the rest: what players of one ensemble lie apart when
they mean to be together is 30 to 50 ms (Rasch, Acustica 43, 1979, from memory)."""
CHANCE = 0.05
"""With an even player a break is found in about this share of what is looked at, at most."""


class Way(StrEnum):
    """How a place stands out from the rest."""

    LATE = "late"
    """It comes later."""
    FAILED = "failed"
    """It is missed or unclean more often."""


@dataclass(frozen=True, slots=True)
class Break:
    """Where it breaks."""

    way: Way
    """How it stands out."""
    bar: int | None
    """The bar of the drill; None where the beat stands out in whatever bar."""
    beat: Fraction
    """The beat of the bar."""
    changes: int
    """How many changes tell."""
    later_ms: float | None
    """By how much later they are than the rest, median against median; None where it stands out otherwise."""
    failed: int | None
    """How many of them failed; None where it stands out by lateness."""

    @property
    def words(self) -> str:
        """It in one sentence."""
        where = f"{'' if self.bar is None else f'bar {self.bar}, '}beat {number(self.beat)}"
        if self.later_ms is not None:
            return f"Breaks at {where}: {self.later_ms:.0f} ms later than elsewhere ({self.changes} changes)."
        return f"Breaks at {where}: {self.failed} of {self.changes} missed or unclean."


@lru_cache(maxsize=4)
def breaks(runs: tuple[tuple[Due, ...], ...]) -> Break | None:
    """Return where changes of one or more runs of a drill break; None where no place stands out, or too few tell.

    What was told last is remembered: a screen asks again and again, and the runs stay the same.

    Every bar-and-beat and every beat is held against all the others; a beat is named without a bar only where it stands
    out in each of its bars. It breaks by lateness where it is later by
    `LATER_MS` at least and a one-sided rank-sum test says so (Mann and Whitney, Annals of Mathematical Statistics 18,
    1947), each time taken less the median of its run, so that runs at different tempi can be put together; by failing
    where Fisher's exact test says so (The Design of Experiments, 1935). Both at `CHANCE` divided by the number of
    tests (Bonferroni), `FEWEST` changes on either side. Of several the least likely to be chance is returned.
    """
    dues = [due for one in runs for due in _centred(one)]
    tests: list[tuple[float, Break | None]] = []
    seen: list[frozenset[int]] = []
    for bar, beat in sorted(_groups(dues), key=lambda group: (group[1], group[0] or 0)):
        inside = frozenset(at for at, due in enumerate(dues) if due.place.beat == beat and bar in {None, due.place.bar})
        if inside in seen:  # a beat with changes in one bar only is that bar's
            continue
        seen.append(inside)
        own = [dues[at] for at in sorted(inside)]
        rest = [due for at, due in enumerate(dues) if at not in inside]
        tests += (tested for test in _TESTS if (tested := test(bar, beat, own, rest)) is not None)
    found = [(p, one) for p, one in tests if one is not None and p <= CHANCE / len(tests)]
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _groups(dues: Sequence[Due]) -> set[tuple[int | None, Fraction]]:
    """Return what may stand out: each bar-and-beat, and each beat over all bars (None)."""
    return {(bar, due.place.beat) for due in dues for bar in (due.place.bar, None)}


def _later(
    bar: int | None, beat: Fraction, own: Sequence[Due], rest: Sequence[Due]
) -> tuple[float, Break | None] | None:
    """Return how likely it is by chance that `own` are so much later than `rest`, and the break it would be.

    None where too few tell, or both are no match.
    """
    if len({due.figure for due in own}) != 1:
        return None
    times = [due.late_ms for due in own if due.late_ms is not None]
    others = [due.late_ms for due in rest if due.late_ms is not None and due.figure is own[0].figure]
    if min(len(times), len(others)) < FEWEST:
        return None
    usual = median(others)
    in_bars = [[due.late_ms for due in one if due.late_ms is not None] for one in _by_bar(own)]
    everywhere = all(median(bar_times) >= usual + LATER_MS for bar_times in in_bars if bar_times)
    later = median(times) - usual
    found = Break(Way.LATE, bar, beat, len(times), later, None) if everywhere and later >= LATER_MS else None
    return rank_sum(times, others), found


def _failing(
    bar: int | None, beat: Fraction, own: Sequence[Due], rest: Sequence[Due]
) -> tuple[float, Break | None] | None:
    """Return how likely it is by chance that `own` failed so much more often than `rest`, and the break it would be.

    None where too few tell.
    """
    said = [due.failed for due in own if due.failed is not None]
    others = [due.failed for due in rest if due.failed is not None]
    if min(len(said), len(others)) < FEWEST:
        return None
    in_bars = [[due.failed for due in one if due.failed is not None] for one in _by_bar(own)]
    everywhere = all(sum(failed) * len(others) > sum(others) * len(failed) for failed in in_bars if failed)
    found = Break(Way.FAILED, bar, beat, len(said), None, sum(said)) if everywhere else None
    return more_often(sum(said), len(said), sum(others), len(others)), found


def _by_bar(dues: Sequence[Due]) -> list[list[Due]]:
    """Return changes parted by the bar they lead into."""
    return [[due for due in dues if due.place.bar == bar] for bar in sorted({due.place.bar for due in dues})]


_TESTS: tuple[
    Callable[[int | None, Fraction, Sequence[Due], Sequence[Due]], tuple[float, Break | None] | None], ...
] = (_later, _failing)
"""How each way of standing out is told from chance, in the order of `Way`."""


def rank_sum(values: Sequence[float], others: Sequence[float]) -> float:
    """Return how likely it is by chance that `values` lie so far above `others`, neither of them empty.

    One-sided, the normal approximation with ties and continuity corrected; 1 where all are alike.
    """
    first, second, total = len(values), len(others), len(values) + len(others)
    ordered = sorted(others)
    above = sum(bisect_left(ordered, value) + bisect_right(ordered, value) for value in values) / 2
    ties = sum(count**3 - count for count in Counter((*values, *others)).values())
    variance = first * second / 12 * (total + 1 - ties / (total * (total - 1)))
    if variance <= 0:
        return 1.0
    return math.erfc((above - first * second / 2 - 0.5) / math.sqrt(2 * variance)) / 2


def more_often(failed: int, of: int, others_failed: int, others: int) -> float:
    """Return how likely it is by chance that `failed` of `of` or more fail where `others_failed` of `others` do."""
    failures, total = failed + others_failed, of + others
    ways = sum(math.comb(of, k) * math.comb(others, failures - k) for k in range(failed, min(of, failures) + 1))
    return ways / math.comb(total, failures)


def _centred(dues: Sequence[Due]) -> Iterator[Due]:
    """Yield the changes of one run, each time less the median of its kind in that run."""
    middles = {
        figure: median(times)
        for figure in (False, True)
        if (times := [due.late_ms for due in dues if due.late_ms is not None and due.figure is figure])
    }
    for due in dues:
        late_ms = None if due.late_ms is None else due.late_ms - middles[due.figure]
        yield replace(due, late_ms=late_ms)
