"""How changes fall on the beats they were written on, beat by beat. Values only.

What is late is the lateness of a shape struck block or rolled and the delay of a figure, as in `practice.measures`; the
two are shown under one heading and never compared with each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise
from statistics import median
from typing import TYPE_CHECKING

from trainer.counts import plural
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
NEWEST = 20
"""So many newest runs of a session are put together: enough to tell, and about now."""


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
        said = [f"Beat {number(self.beat)}: {plural(self.changes, 'change')}"]
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
    begins = accumulate(drill.lengths, initial=Fraction(0))
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
    at, heard = places(drill), [run for run in session.ended if run.heard]
    return tuple(_of_run(at, session, run) for run in heard[-NEWEST:])


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
