"""What speaks for practising a change today, and against it, in plain words.

Every weight in `WEIGHTS` is ours, no source; what each reason rests on is measured, and said with its numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from trainer.counts import plural
from trainer.practice.statistics import Verdict

if TYPE_CHECKING:
    from trainer.practice.plan import Look

STUCK_RESTS = 4
"""Days after which what is stuck is looked at again: one in ten is called so wrongly, and more times would tell."""
SOON = 60
"""A target so many tries away is worth half of one that is at hand."""
_ANSWERED = 5
"""The share of clean is looked at from so many answers up."""
_UNEVEN = 0.25
"""The middle half of the times may be as wide as this part of their median."""
_FORGOTTEN = 14
"""Days of rest after which resting longer adds nothing to what it weighs."""

WEIGHTS = {
    "near": 1.0,
    "new": 1.0,
    "due": 0.8,
    "unclean": 0.8,
    "slow": 0.5,
    "stuck": -0.4,
    "uneven": 0.3,
    "slower": 0.3,
    "rested": 0.2,
}
"""What each reason weighs, at its full size of 1."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that speaks for practising a change, or against it."""

    key: str
    """Key of `WEIGHTS`."""
    size: float
    """How much of it there is, 0 to 1."""
    words: str
    """In plain words, with the numbers it rests on."""

    @property
    def worth(self) -> float:
        """What it adds to the score."""
        return WEIGHTS[self.key] * self.size


def reasons(look: Look, today: int) -> tuple[Reason, ...]:
    """Return all that speaks for practising a change today or against it, the weightiest first."""
    found = chain.from_iterable(find(look, today) for find in _FINDERS)
    return tuple(sorted(found, key=lambda reason: -abs(reason.worth)))


def _slow(look: Look, _: int) -> Iterable[Reason]:
    now = look.now.median_ms
    if now is not None and not look.fast_enough:
        size = min(max(math.log2(now / look.target_ms), 0.1), 1.0)
        yield Reason("slow", size, f"{now:.0f} ms, wanted {look.target_ms:.0f}")


def _near(look: Look, _: int) -> Iterable[Reason]:
    if look.fast_enough or look.now.median_ms is None:
        return
    if look.to_goal is None:
        yield Reason("near", 0.6, "new: the first tries bring most")
    elif look.to_goal.tries is not None:
        words = f"{look.to_goal.words} to go" if look.to_goal.tries else "all but there"
        yield Reason("near", SOON / (SOON + look.to_goal.tries), words)
    elif not look.stuck:
        yield Reason("near", 0.2, "the way to the target cannot be told yet")


def _new(look: Look, _: int) -> Iterable[Reason]:
    if look.predicted is not None:
        found = look.predicted
        slow = min(max(math.log2(max(found.middle, 1.0) / look.target_ms), 0.0), 1.0)
        about, low, high = (f"{ms / 1000:.1f}" for ms in (found.middle, found.low, found.high))
        # What will take longest takes most days, and is begun first.
        yield Reason("new", 0.6 + 0.4 * slow, f"never timed; about {about} s for this hand ({low} to {high})")


def _stuck(look: Look, today: int) -> Iterable[Reason]:
    if look.stuck and look.curve is not None:
        level = look.curve.level.middle
        rest = max(1 - (today - look.last_day) / STUCK_RESTS, 0.0)
        yield Reason(
            "stuck", rest, f"levels off at about {level:.0f} ms: try it slower, in a segment, or other fingers"
        )


def _due(look: Look, today: int) -> Iterable[Reason]:
    rested = today - look.last_day
    if look.due is not None and rested > 0 and look.due <= today:
        late = (today - look.due) / max(look.due - look.last_day, 1)
        late_by = "today" if look.due == today else f"for {plural(today - look.due, 'day')}"
        yield Reason("due", min(0.6 + 0.4 * late, 1.0), f"due {late_by}, last played {plural(rested, 'day')} ago")
    elif rested > 0:
        yield Reason("rested", min(rested / _FORGOTTEN, 1.0), f"last played {plural(rested, 'day')} ago")


def _unclean(look: Look, _: int) -> Iterable[Reason]:
    if look.now.answered >= _ANSWERED and look.now.clean < 0.8 * look.now.answered:
        size = 1 - look.now.clean / look.now.answered
        yield Reason("unclean", size, f"clean {look.now.clean} of {look.now.answered}")


def _uneven(look: Look, _: int) -> Iterable[Reason]:
    now, width = look.now.median_ms, look.now.iqr_ms
    if now and width is not None and look.now.timed >= _ANSWERED and width > _UNEVEN * now:
        yield Reason("uneven", min(width / now / _UNEVEN - 1, 1.0), f"uneven: middle half {width:.0f} ms wide")


def _slower(look: Look, _: int) -> Iterable[Reason]:
    if look.now.trend.verdict is Verdict.SLOWER:
        yield Reason("slower", 1.0, f"getting {look.now.trend.words}")


_FINDERS: tuple[Callable[[Look, int], Iterable[Reason]], ...] = (
    *(_slow, _near, _new, _stuck, _due),
    *(_unclean, _uneven, _slower),
)
