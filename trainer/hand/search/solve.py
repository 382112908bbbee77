"""The search as others call it: from a passage to its best fingering, alternatives, or why there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from trainer.hand.reach import Hand
from trainer.hand.search.alternatives import Difference, differences, ranked, same
from trainer.hand.search.costs import Body
from trainer.hand.search.fingering import Fingering, Taken
from trainer.hand.search.habits import near_to, with_habits
from trainer.hand.search.impossible import Impossible, explain
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import Step, steps
from trainer.hand.search.passage import Passage
from trainer.hand.search.tracing import Tracer, Way, way
from trainer.hand.search.trellis import Trellis, least_to_go, search
from trainer.hand.search.weights import Weights, plain

WIDTH = 250
"""States a layer may hold where no proof comes out; beyond it the cost hardly changes (tests/bench/bench_search.py)."""
GUESS = 120
"""States a layer may hold while a first guess is made for the proof."""
PROVING = 12000
"""States a layer may hold while the first search's result is proved to be the best, or bettered."""
PROVABLE = 64
"""Slices up to which a proof is tried; beyond, the bound is too loose for it to come out in time."""
MOVED = 1.0
"""What it costs to take a note otherwise than before when something is set and the rest should stay."""
SLACK = 1e-9
"""Costs this close are equal: sums of floats in another order."""
TRIES = 40
"""Ways looked at for each alternative asked for."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way, with what makes it one."""

    fingering: Fingering
    """The way."""
    differs: tuple[Difference, ...]
    """In what it differs from the best; at least one."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best way through a passage, and others."""

    best: Fingering
    """The best way that was found."""
    exact: bool
    """True where no way of this hand through this passage, by these weights, is better."""
    width: int
    """States a layer was allowed; where `exact` is false, the best way among those."""
    alternatives: tuple[Alternative, ...] = ()
    """Cheapest first; each differs from the best and from the others in what a player cares about."""


def work_out(
    passage: Passage,
    hand: Hand | None = None,
    weights: Weights | None = None,
    *,
    worst: bool = False,
    alternatives: int = 0,
    width: int = WIDTH,
    proving: int = PROVING,
    habit: float = 0.0,
    near: Sequence[Taken] | None = None,
) -> Found | Impossible:
    """Return the best fingering of `passage` and so many alternatives, or the slice that cannot be taken and why.

    With `worst` the dearest change is made as cheap as can be, and among the ways that reach that the sum. `habit`
    says how much the fingers already set in the passage count for the same notes elsewhere in it; 0: not at all.
    `near` is how the notes were taken before something was set: what need not move stays, at `MOVED` for each that does
    (told among the reasons as habit).
    """
    hand, weights = hand or Hand(), weights or plain()
    found = moments(passage, hand)
    if isinstance(found, Stuck):
        return explain(passage, hand, found.index)
    if habit:
        found = with_habits(found, passage, habit)
    if near is not None:
        found = near_to(found, passage, near, MOVED)
    body = Body.of(passage.instrument, hand)
    parts, values = steps(found, body, weights)
    bottleneck = proved_best(parts, width, proving, worst=True) if worst else None
    ceiling = np.inf if bottleneck is None else bottleneck.cost + SLACK
    trellis = proved_best(parts, width, proving, ceiling=ceiling)
    exact = trellis.exact and (bottleneck is None or bottleneck.exact)

    tracer = Tracer(passage, found, parts, values, body, weights)

    def sketched(chosen: Way) -> Fingering:
        return tracer.fingering(chosen, named=False)

    def told(chosen: Way) -> Fingering:
        told = tracer.fingering(chosen)
        return replace(told, cost=told.moves[told.worst].cost) if worst else told

    chosen = way(trellis, trellis.best())
    best = told(chosen)
    others: tuple[Alternative, ...] = ()
    if alternatives:
        kept = search(parts, width, to_go=least_to_go(parts), keep=True)
        ways = _apart(best, ranked(kept, found, body, chosen, TRIES * alternatives), sketched, alternatives)
        others = tuple(Alternative(told(each), differs) for each, differs in ways)
    return Found(best, exact, proving if exact else width, others)


def _apart(
    best: Fingering, ways: Iterable[Way], sketched: Callable[[Way], Fingering], most: int
) -> list[tuple[Way, tuple[Difference, ...]]]:
    """Return the first ways that differ from the best and from each other in what a player cares about."""
    chosen: list[tuple[Way, tuple[Difference, ...]]] = []
    for each in ways:
        differs = differences(best, sketched(each))
        if differs and not any(same(differs, others) for _, others in chosen):
            chosen.append((each, differs))
        if len(chosen) == most:
            break
    return chosen


def proved_best(
    parts: Sequence[Step], width: int = WIDTH, proving: int = PROVING, *, worst: bool = False, ceiling: float = np.inf
) -> Trellis:
    """Return the best way found within `width`, and where it can be done within `proving`, proved or bettered."""
    to_go = least_to_go(parts, worst=worst)
    provable = len(parts) <= PROVABLE
    first = search(parts, min(width, GUESS) if provable else width, worst=worst, ceiling=ceiling, to_go=to_go)
    if first.layers and (first.exact or not provable):
        return first
    bound = first.cost + SLACK if first.layers else np.inf
    second = search(parts, proving, worst=worst, ceiling=ceiling, to_go=to_go, bound=bound, many=None)
    if second.exact and second.layers:
        return second
    third = search(parts, width, worst=worst, ceiling=ceiling, to_go=to_go)
    return min((trellis for trellis in (third, first, second) if trellis.layers), key=lambda trellis: trellis.cost)
