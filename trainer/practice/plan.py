"""What to practise next: from what was measured of each change to a few minutes of practice, with the reasons.

Changes are interleaved, which helps a little (Carter and Grahn 2016; Stambaugh 2011), and visited again rather than
massed. What speaks for each, and against it, is in `practice.reasons`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.practice.curve import Course, Curve, Interval, ToGoal
from trainer.practice.curve_fit import fit
from trainer.practice.reasons import Reason, reasons
from trainer.practice.record import Attempt, Series
from trainer.practice.statistics import Statistics, describe

VISIT = 6
"""Tries at a change before it is another one's turn."""
VISITS = 3
"""Most visits to a change in one sitting: spread over days the same tries teach more (Simmons 2012)."""
TRY_S = 6.0
"""Seconds that a try takes, from taking the shape to looking at the time (common practice, no source)."""
MOST_CHANGES = 16
"""No more different changes than this in one sitting."""
MOST_NEW = 4
"""No more of them never timed before than this: each wants its visits, and the days after it too (ours, no source)."""
CURVE_WINDOW = 80
"""The curve looks at this many newest times."""
NOW = 15
"""Where a change stands is told from this many newest attempts: more would still count what has long been learned."""
MARGIN = 0.96
"""A change is fast enough a little below its target: the median of a few times may lie that far off by chance."""
STUCK_FROM = 60
"""Nothing is called stuck from fewer times than this: rest between days bends a short curve as a level does."""
BEAT_SHARE = 0.5
"""A change is fast enough where it takes half a beat: the old shape sounds for the other half (common practice)."""


def target_ms(tempo: float) -> float:
    """Return how long a change may take to be fast enough at `tempo` beats per minute, in milliseconds."""
    return 60_000 / tempo * BEAT_SHARE


@dataclass(frozen=True, slots=True)
class Look:
    """What is known of one change, timed in one way."""

    series: Series
    """The change and how it was timed."""
    now: Statistics
    """How its newest times stand."""
    curve: Curve | None
    """Its learning curve; None where there are too few times."""
    to_goal: ToGoal | None
    """How many more tries the target takes; None where there are too few times to tell."""
    last_day: int
    """Day it was last practised."""
    due: int | None
    """Day it is due again; None where nothing says so."""
    target_ms: float
    """How long it may take."""
    drill: str = ""
    """Title of the drill it was practised in last, or that it waits in; empty where nothing says so."""
    predicted: Interval | None = None
    """How long this hand is expected to take for it, in milliseconds; None for one that was timed."""

    @property
    def fast_enough(self) -> bool:
        """True where half of its newest times are within the target."""
        return self.now.median_ms is not None and self.now.median_ms <= MARGIN * self.target_ms

    @property
    def stuck(self) -> bool:
        """True where it is too slow, has levelled off, and even with luck does not get there by going on like this."""
        if self.fast_enough or self.curve is None or self.to_goal is None or self.curve.attempts < STUCK_FROM:
            return False
        return self.to_goal.low is None and self.curve.course is Course.PLATEAU


def unseen(series: Series, predicted: Interval, today: int, target: float, drill: str) -> Look:
    """Return what is known of a change that was never timed: how long it will take, timed in the way `series` says."""
    return Look(series, describe(()), None, None, today, None, target, drill, predicted)


def look(attempts: Sequence[Attempt], last_day: int, due: int | None, target: float, drill: str = "") -> Look:
    """Return what is known of a change from its newest attempts, of one series and oldest first; at least one."""
    times = [attempt.change_ms for attempt in attempts if attempt.change_ms is not None]
    curve = fit(times[-CURVE_WINDOW:])
    to_goal = None if curve is None else curve.to_goal(target)
    return Look(attempts[0].series, describe(attempts[-NOW:]), curve, to_goal, last_day, due, target, drill)


@dataclass(frozen=True, slots=True)
class Item:
    """One change of the plan."""

    look: Look
    """The change."""
    visits: int
    """How often it is its turn, `VISIT` tries each."""
    reasons: tuple[Reason, ...]
    """Why, the weightiest first."""

    @property
    def tries(self) -> int:
        """How many tries in all."""
        return self.visits * VISIT

    @property
    def score(self) -> float:
        """What the reasons come to."""
        return sum(reason.worth for reason in self.reasons)

    @property
    def why(self) -> str:
        """Every reason in one line, the weightiest first: nothing is hidden."""
        return "; ".join(reason.words for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Plan:
    """What to practise, and what not."""

    minutes: float
    """How long the player has."""
    items: tuple[Item, ...]
    """The changes, the most pressing first."""
    resting: tuple[Item, ...] = ()
    """Changes that nothing speaks for today, or less than speaks against."""
    left_out: tuple[Item, ...] = ()
    """Changes that something speaks for and that the minutes do not reach, the most pressing first."""

    @property
    def tries(self) -> int:
        """How many tries in all."""
        return sum(item.tries for item in self.items)

    @property
    def takes(self) -> float:
        """How many minutes it takes; less than the player has where less is worth doing."""
        return self.tries * TRY_S / 60

    @property
    def turns(self) -> tuple[Item, ...]:
        """The order of play: every change once, then those again whose turn comes again."""
        most = max((item.visits for item in self.items), default=0)
        return tuple(item for turn in range(most) for item in self.items if item.visits > turn)


def plan(looks: Iterable[Look], today: int, minutes: float) -> Plan:
    """Return what to practise today in so many minutes.

    Every change that something speaks for gets one visit, in order of its score; what time is left gives further visits
    in the same order to those that are not yet fast enough. A change that is stuck gets one visit at most: more of the
    same is no help. No more than `MOST_NEW` are begun with in one sitting.
    """
    weighed = [Item(each, 1, reasons(each, today)) for each in looks]
    wanted = sorted((item for item in weighed if item.score > 0), key=lambda item: -item.score)
    too_many = [item for item in wanted if item.look.predicted is not None][MOST_NEW:]
    ready = [item for item in wanted if item not in too_many]
    visits = max(int(minutes * 60 / (VISIT * TRY_S)), 1)
    chosen = ready[: min(visits, MOST_CHANGES)]
    counts = [1] * len(chosen)
    left = visits - len(chosen)
    for _ in range(1, VISITS):
        for number, item in enumerate(chosen):
            if left > 0 and not (item.look.fast_enough or item.look.stuck):
                counts[number] += 1
                left -= 1
    items = tuple(Item(item.look, count, item.reasons) for item, count in zip(chosen, counts, strict=True))
    resting = tuple(item for item in weighed if item.score <= 0)
    return Plan(minutes, items, resting, tuple(item for item in wanted if item not in chosen))


def worth_a_look(median_ms: float | None, last_day: int, today: int, target: float) -> float:
    """Return how much a change promises by its summary alone, to choose those that are looked at closely.

    Slowness counts as in the plan, and every week of rest as much as being a fifth too slow.
    """
    slow = 0.0 if median_ms is None else min(math.log2(max(median_ms, 1.0) / target), 1.0)
    return slow + min((today - last_day) / 7 * 0.25, 1.0)
