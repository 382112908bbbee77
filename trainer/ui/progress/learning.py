"""The learning curve of one change as a player reads it: drawn through its times, and what it says in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.practice.curve import Course, Curve
from trainer.practice.curve_fit import FEWEST, fit
from trainer.practice.plan import CURVE_WINDOW, MARGIN
from trainer.practice.statistics import quantile
from trainer.ui.played import seconds

_NEWEST = 15
"""Whether the goal is reached is told from the median of so many newest times, not from the curve."""


@dataclass(frozen=True, slots=True)
class Learning:
    """What the curve of some times comes to."""

    curve: Curve | None
    """Fitted through the newest of them; None where they are too few."""
    words: str
    """In clauses, the one that matters most first; empty where there is no time."""


def learning(times: Sequence[float], goal_ms: float) -> Learning:
    """Return the curve of `times` (milliseconds, oldest first) and what it says of the way to `goal_ms`."""
    newest = times[-CURVE_WINDOW:]
    curve = fit(newest)
    if not times:
        return Learning(None, "")
    if curve is None:
        return Learning(None, f"{Course.TOO_FEW} for a curve, {len(times)} times of {FEWEST}")
    now = quantile(sorted(times[-_NEWEST:]), 0.5)
    goal = f"{seconds(goal_ms)} {'is reached' if now <= MARGIN * goal_ms else _to_goal(curve, goal_ms)}"
    return Learning(curve, f"{_course(curve)}; {goal}; {_ends(curve)}")


def _course(curve: Curve) -> str:
    match curve.course:
        case Course.FALLING:
            return str(Course.FALLING)
        case Course.PLATEAU:
            return f"{Course.PLATEAU}, more of the same brings next to nothing"
        case Course.TOO_FEW:
            return f"{Course.TOO_FEW} to tell falling from level"


def _to_goal(curve: Curve, goal_ms: float) -> str:
    """Return how far the goal is; the curve may say that it is there where the newest times do not."""
    to_goal = curve.to_goal(goal_ms)
    if to_goal.tries is None:
        luck = "" if to_goal.low is None else f" (with luck {to_goal.low:,} tries)"
        return f"is not in sight by going on like this{luck}"
    return f"in {to_goal.words}" if to_goal.tries else "is all but reached"


def _ends(curve: Curve) -> str:
    """Return where it levels off, with the range that holds it in eight cases of ten."""
    level = curve.level
    return f"levels off at {seconds(level.middle)} (80 % sure: {level.low / 1000:.2f} to {level.high / 1000:.2f})"
