"""The search as others call it: from a passage to its best fingering, alternatives, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.hand.reach import Hand
from trainer.hand.search.costs import Body
from trainer.hand.search.fingering import Fingering, fingering, way
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import steps
from trainer.hand.search.passage import Passage
from trainer.hand.search.trellis import Trellis, least_to_go, search
from trainer.hand.search.weights import Weights, plain

WIDTH = 250
"""States a layer may hold in the first search; beyond it the cost hardly changes (tests/bench/bench_search.py)."""
PROVING = 6000
"""States a layer may hold while the first search's result is proved to be the best, or bettered."""
SLACK = 1e-9
"""Costs this close are equal: sums of floats in another order."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best way through a passage."""

    best: Fingering
    exact: bool
    """True where no way of this hand through this passage, by these weights, is better."""
    width: int
    """States a layer was allowed; where `exact` is false, the best way among those."""


def work_out(
    passage: Passage,
    hand: Hand | None = None,
    weights: Weights | None = None,
    *,
    worst: bool = False,
    width: int = WIDTH,
    proving: int = PROVING,
) -> Found | Stuck:
    """Return the best fingering of `passage`, or the slice that cannot be taken.

    With `worst` the dearest change is made as cheap as can be, and among the ways that reach that the sum.
    """
    hand, weights = hand or Hand(), weights or plain()
    found = moments(passage, hand)
    if isinstance(found, Stuck):
        return found
    body = Body.of(passage.instrument, hand)
    parts, values = steps(found, body, weights)
    ceiling = np.inf
    sure = True
    if worst:
        bottleneck = _proved(parts, width, proving, worst=True)
        ceiling, sure = bottleneck.cost + SLACK, bottleneck.exact
    trellis = _proved(parts, width, proving, ceiling=ceiling)
    chosen = way(trellis, trellis.best())
    cost = ceiling - SLACK if worst else trellis.cost
    best = fingering(passage, found, parts, values, body, weights, chosen, cost)
    return Found(best, trellis.exact and sure, width if not trellis.exact else proving)


def _proved(parts: tuple, width: int, proving: int, *, worst: bool = False, ceiling: float = np.inf) -> Trellis:
    """Return the best way found within `width`, and where it can be done within `proving`, proved or bettered."""
    to_go = least_to_go(parts, worst=worst)
    first = search(parts, width, worst=worst, ceiling=ceiling, to_go=to_go)
    if first.exact and first.layers:
        return first
    bound = first.cost + SLACK if first.layers else np.inf
    second = search(parts, proving, worst=worst, ceiling=ceiling, to_go=to_go, bound=bound)
    return second if second.exact or not first.layers else first
