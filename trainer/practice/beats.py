"""How changes fall on the beats they were written on, beat by beat, and where in the bar they break. Values only.

What is late is the lateness of a shape struck block or rolled and the delay of a figure, as in `practice.measures`; the
two are shown under one heading and never compared with each other.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise
from statistics import median
from typing import TYPE_CHECKING

from trainer.practice.drill import Drill, change_key
from trainer.practice.record import Texture
from trainer.practice.statistics import share

if TYPE_CHECKING:
    from trainer.practice.effects import Summary
    from trainer.practice.measures import HeardChange, Measures
    from trainer.practice.record import Attempt
    from trainer.practice.state import Session

FEWEST = 3
"""Of fewer values no spread is told, and of fewer changes no place is said to break (ours, no source)."""
LATER_MS = 30.0
"""A place breaks by lateness only where it is later by this than the rest: what players of one ensemble lie apart when
they mean to be together is 30 to 50 ms (Rasch, Acustica 43, 1979, from memory)."""
NEWEST = 20
"""So many newest runs of a session are put together: enough to tell, and about now."""
CHANCE = 0.05
"""With an even player a break is found in about this share of what is looked at, at most."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a shape is written to begin."""

    bar: int
    """Bar of the drill, from 1."""
    beat: Fraction
    """Beat of that bar, from 1."""


@dataclass(frozen=True, slots=True)
class Due:
    """One change that was due on a beat, and what was heard of it. None wherever that cannot be known."""

    place: Place
    """Where the shape it leads to is written."""
    landed: bool = True
    """False where it did not come."""
    late_ms: float | None = None
    """How long after its place it came; negative = early."""
    gap_ms: float | None = None
    """The silence before it; negative = overlap."""
    clean: bool | None = None
    """Whether it was clean."""
    figure: bool = False
    """True where `late_ms` is the delay of a figure."""

    @property
    def failed(self) -> bool | None:
        """True where it did not land or was not clean; None where that cannot be said."""
        return None if self.landed and self.clean is None else not (self.landed and self.clean)


@dataclass(frozen=True, slots=True)
class Beat:
    """What came of the changes that were due on one beat of the bar. None wherever too few tell."""

    beat: Fraction
    """Which, from 1."""
    changes: int
    """How many were due on it."""
    landed: int
    """How many of them landed."""
    late_ms: float | None
    """Median lateness."""
    late_spread_ms: float | None
    """Its spread: the median distance from that median."""
    gap_ms: float | None
    """Median gap."""
    clean: int
    """How many were clean …"""
    answered: int
    """… of those of which it can be said."""
    uneven_ms: float | None
    """By how much the intervals that end on this beat miss their written length: the median, longer or shorter."""

    @property
    def words(self) -> str:
        """All of it in one sentence."""
        said = [f"Beat {number(self.beat)}: {self.changes} change{'' if self.changes == 1 else 's'}"]
        if self.landed < self.changes:
            said.append(f"{self.landed} landed")
        if self.late_ms is not None:
            spread = "" if self.late_spread_ms is None else f" (spread {self.late_spread_ms:.0f})"
            said.append(f"{abs(self.late_ms):.0f} ms {'early' if self.late_ms < 0 else 'late'}{spread}")
        if self.gap_ms is not None:
            said.append(f"gap {self.gap_ms:.0f} ms")
        if self.answered:
            said.append(f"clean {share(self.clean, self.answered)}")
        if self.uneven_ms is not None:
            said.append(f"even to {self.uneven_ms:.0f} ms")
        return f"{', '.join(said)}."


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


@dataclass(frozen=True, slots=True)
class ByBeat:
    """What a run comes to, beat by beat."""

    beats: tuple[Beat, ...]
    """Every beat on which a change was due, in order; empty where no time against the beat is known."""
    uneven_ms: float | None
    """Evenness: by how much intervals between landings that follow each other miss their written length, the median."""

    @property
    def words(self) -> str:
        """The lateness of each beat and the evenness in one short sentence; empty where neither is known."""
        late = [f"beat {number(one.beat)} {one.late_ms:+.0f} ms" for one in self.beats if one.late_ms is not None]
        even = [] if self.uneven_ms is None else [f"even to {self.uneven_ms:.0f} ms"]
        return f"Against the beat: {', '.join((*late, *even))}." if late else ""

    @property
    def lines(self) -> tuple[str, ...]:
        """The same in full, a sentence for each beat."""
        even = () if self.uneven_ms is None else (f"All in all even to {self.uneven_ms:.0f} ms.",)
        return (*(beat.words for beat in self.beats), *even)


NOWHERE = ByBeat((), None)
"""Where nothing is known against the beat."""


def number(beat: Fraction) -> str:
    """Return a beat as a player reads it: `2`, or `2.5` for the second half of it."""
    return f"{float(beat):.4g}"


def places(drill: Drill) -> tuple[Place, ...]:
    """Return where each shape of a drill is written to begin."""
    begins = accumulate((step.beats for step in drill.steps), initial=Fraction(0))
    bar = drill.meter[0]
    return tuple(Place(int(begin // bar) + 1, begin % bar + 1) for begin, _ in zip(begins, drill.steps, strict=False))


def of_changes(drill: Drill, changes: Iterable[HeardChange]) -> tuple[Due, ...]:
    """Return heard changes in the order played as changes that were due; what is no change of the drill is left out."""
    at = places(drill)
    return tuple(_due(at[one.after], one) for one in changes if one.expected)


def of_attempts(drill: Drill, attempts: Iterable[Attempt]) -> tuple[Due, ...]:
    """Return the attempts of one run to the beat, in the order played, that were heard; what did not land is not kept.

    A change that is written at several places is the next of them after the attempt before it.
    """
    at, last, dues = places(drill), -1, []
    where: dict[str, list[int]] = {}
    for number_, (before, after) in enumerate(drill.changes):
        where.setdefault(change_key(drill.instrument, before.shape, after.shape), []).append(number_)
    for attempt in attempts:
        measures, written = attempt.measures, where.get(attempt.change)
        if measures is None or written is None:
            continue
        last = next((place for place in written if place > last), written[0])
        figure = attempt.texture is Texture.FIGURE
        place = at[drill.pairs[last][1]]
        dues.append(Due(place, True, late(measures), measures.gap_ms, attempt.clean, figure))
    return tuple(dues)


def of_session(drill: Drill, session: Session) -> tuple[tuple[Due, ...], ...]:
    """Return the changes that were due in the newest runs to the beat that were heard from end to end, oldest first."""
    heard = [run for run in session.ended if run.heard]
    return tuple(_of_run(places(drill), session, run) for run in heard[-NEWEST:])


def _of_run(at: Sequence[Place], session: Session, run: Summary) -> tuple[Due, ...]:
    came = {one.position: one for one in session.tries if one.run == run.run and one.heard is not None}
    dues = []
    for position, leg in enumerate(run.heard):
        one, place = came.get(position), at[leg.pair[1]]
        if one is not None and one.heard is not None:
            dues.append(replace(_due(place, one.heard), clean=one.clean))
        elif leg.counted:
            dues.append(Due(place, landed=False))
    return tuple(dues)


def _due(place: Place, heard: HeardChange) -> Due:
    return Due(place, heard.landed, late(heard), heard.gap_ms, heard.clean, heard.texture is Texture.FIGURE)


def late(heard: HeardChange | Measures) -> float | None:
    """Return by how many ms a shape came after its written place: its lateness, or the delay of a figure."""
    return heard.delay_ms if heard.lateness_ms is None else heard.lateness_ms


def by_beat(dues: Sequence[Due]) -> ByBeat:
    """Return what changes of one run at one tempo, in the order they were due, come to beat by beat.

    Evenness is told by the difference of two latenesses that follow each other, which is the interval between both
    landings less the written one: how steady intervals are is how tapping to a beat is judged (Wing and Kristofferson,
    Perception & Psychophysics 14, 1973); the median distance from the written length, which the odd slip does not
    stretch, in place of a standard deviation is ours.
    """
    if all(due.late_ms is None for due in dues):
        return NOWHERE
    intervals = list(_intervals(dues))
    found = []
    for beat in sorted({due.place.beat for due in dues}):
        own = [due for due in dues if due.place.beat == beat]
        times = [due.late_ms for due in own if due.late_ms is not None]
        gaps = [due.gap_ms for due in own if due.gap_ms is not None]
        found.append(
            Beat(
                beat=beat,
                changes=len(own),
                landed=sum(due.landed for due in own),
                late_ms=median(times) if times else None,
                late_spread_ms=_spread(times),
                gap_ms=median(gaps) if gaps else None,
                clean=sum(due.clean is True for due in own),
                answered=sum(due.clean is not None for due in own),
                uneven_ms=_missed_by([difference for on, difference in intervals if on == beat]),
            )
        )
    return ByBeat(tuple(found), _missed_by([difference for _, difference in intervals]))


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
    tests: dict[tuple[int | None, Fraction, Way], tuple[float, Break | None]] = {}
    seen: list[frozenset[int]] = []
    for bar, beat in sorted(_groups(dues), key=lambda group: (group[1], group[0] or 0)):
        inside = frozenset(at for at, due in enumerate(dues) if due.place.beat == beat and bar in {None, due.place.bar})
        if inside in seen:  # a beat with changes in one bar only is that bar's
            continue
        seen.append(inside)
        own = [dues[at] for at in sorted(inside)]
        rest = [due for at, due in enumerate(dues) if at not in inside]
        for way, test in _TESTS.items():
            if (tested := test(bar, beat, own, rest)) is not None:
                tests[bar, beat, way] = tested
    found = [(p, one) for p, one in tests.values() if one is not None and p <= CHANCE / len(tests)]
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


_TESTS: dict[Way, Callable[[int | None, Fraction, Sequence[Due], Sequence[Due]], tuple[float, Break | None] | None]] = {
    Way.LATE: _later,
    Way.FAILED: _failing,
}
"""How each way of standing out is told from chance."""


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


def _intervals(dues: Sequence[Due]) -> Iterator[tuple[Fraction, float]]:
    """Yield (beat it ends on, interval less the written one in ms) of landings that follow each other."""
    for before, after in pairwise(dues):
        if before.late_ms is not None and after.late_ms is not None and before.figure is after.figure:
            yield after.place.beat, after.late_ms - before.late_ms


def _spread(values: Sequence[float]) -> float | None:
    if len(values) < FEWEST:
        return None
    middle = median(values)
    return median(abs(value - middle) for value in values)


def _missed_by(differences: Sequence[float]) -> float | None:
    return median(map(abs, differences)) if len(differences) >= FEWEST else None
