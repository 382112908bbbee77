"""How long this hand takes for a change: what it learned from one way of timing, and how far that can be trusted.

The logarithm of a time is what the features of a change and how often it was tried make of it, and something of the
change's own that no feature explains: blocks of one change have that in common. With its share of the variance given,
the regression splits in two (within changes, where only familiarity differs, and between their means; Searle, Casella
and McCulloch, Variance Components, 1992, from memory) and stays in closed form. Every share in `_OWN` is kept with the
weight the times give it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import mul

from trainer.practice.curve import Interval
from trainer.practice.record import Series
from trainer.practice.statistics import quantile
from trainer.practice.timemodel.blocks import Block
from trainer.practice.timemodel.features import COEFFICIENTS, DOUBT, FIRST, Vector
from trainer.practice.timemodel.regression import Posterior, Prior, Sums, posterior
from trainer.practice.timemodel.student import Part
from trainer.practice.timemodel.student import quantile as mixed

ENOUGH = 12
"""Nothing is said of a hand from fewer changes than this: there are as many numbers to tell (ours, no source)."""
TRIES = 30
"""A change is predicted as it will be at this try, unless another is asked for."""
MOST_LEFT_OUT = 100
"""Calibration leaves out no more changes than the newest so many."""
_SCATTER = 0.15
"""How far the mean of a good day lies off what the features say, before anything was timed: a standard deviation in
the logarithm of time (ours, no source) …"""
_SURE = 3.0
"""… which counts like twice so many observations."""
_OWN = (0.0, 0.5, 1.0, 2.0, 4.0, 8.0)
"""How much the changes' own differences vary, in units of how much days do: each of these is tried."""
_UNLIKELY = 0.01
"""A share with less weight than this is left out."""


def _prior(scatter: float) -> Prior:
    """Return what is taken to hold beforehand, for a hand whose days vary by `scatter`.

    The regression has the coefficients' own spread in units of that, and a hand that is steady is no better known.
    """
    return Prior(tuple(doubt / scatter for doubt in DOUBT), _SURE, _SURE * _SCATTER**2)


@dataclass(frozen=True, slots=True)
class Known:
    """One change as the model learns from it."""

    change: str
    """As in `record.Attempt`."""
    features: Vector
    """As in `features.features`."""
    blocks: tuple[Block, ...]
    """What was played of it; at least one."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one thing, or one thing in place of another, makes of the time of a change."""

    ms: Interval
    """More milliseconds than without it, for a change that takes this hand its usual time; negative: it saves."""
    learned: bool
    """False where it is what was taken to hold beforehand rather than what was timed."""

    @property
    def told(self) -> bool:
        """True where it can be said: it was learned, and the interval leaves out nought."""
        return self.learned and (self.ms.low > 0 or self.ms.high < 0)


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the intervals of changes held that were left out when the others were learned from."""

    held: int
    """How many intervals held the time they were to hold."""
    changes: int
    """Of how many changes left out."""


@dataclass(frozen=True, slots=True)
class _Share:
    """What is known if the changes' own differences have this share."""

    weight: float
    """How likely it is, all shares together making 1."""
    share: float
    """How much the changes' own differences vary, in units of how much days do."""
    prior: Prior
    sums: Sums
    found: Posterior


@dataclass(frozen=True, slots=True)
class TimeModel:
    """What is known of a hand from one way of timing."""

    kind: Series
    """The way of timing, the change itself left empty."""
    known: tuple[Known, ...]
    """What it was learned from, the newest first; with none it knows what was taken to hold beforehand."""
    _shares: tuple[_Share, ...]
    """The shares of the changes' own that are likely enough."""

    @property
    def count(self) -> int:
        """How many changes it was learned from."""
        return len(self.known)

    @property
    def enough(self) -> bool:
        """True where it may be told and used; predictions are made in any case, and are as wide as they must be."""
        return self.count >= ENOUGH

    @property
    def usual_ms(self) -> float:
        """The time in milliseconds that this hand takes for the middle one of its changes."""
        logs = sorted(known.blocks[-1].log_ms for known in self.known)
        return math.exp(quantile(logs, 0.5) if logs else FIRST[0])

    def coefficient(self, name: str) -> float:
        """Return what one of a feature adds to the logarithm of the time, the middle of what is likely."""
        at = COEFFICIENTS.index(name)
        return FIRST[at] + math.fsum(each.weight * each.found.mean[at] for each in self._shares)

    def predict(self, features: Vector, tries: int = TRIES) -> Interval:
        """Return the time in milliseconds that a change with these features takes about its try number `tries`.

        The interval holds the mean of a long stretch of tries for 80 % of such changes; single times scatter about it.
        """
        row = (1.0, *features, math.log2(max(tries, 1)))
        return _interval(self._parts(row, own=True, more=1.0), _dot(row, FIRST), math.exp)

    def cost(self, contrast: Mapping[str, float]) -> Cost:
        """Return what so much of each named coefficient costs together."""
        row = tuple(contrast.get(name, 0.0) for name in COEFFICIENTS)
        parts, usual = self._parts(row), self.usual_ms
        before = math.fsum((amount * doubt) ** 2 for amount, doubt in zip(row, DOUBT, strict=True))
        after = math.fsum(weight * scale**2 for weight, _, scale, _ in parts)
        ms = _interval(parts, _dot(row, FIRST), lambda log: usual * math.expm1(log))
        return Cost(ms, self.enough and after <= before / 2)

    def calibration(self) -> Calibration:
        """Return how often the 80 % interval of a change that was left out held its newest block."""
        held = [self._held(known) for known in self.known[:MOST_LEFT_OUT]]
        return Calibration(sum(held), len(held))

    def _held(self, out: Known) -> bool:
        own = _reduced([out])
        less = [(each.share, each.prior, each.sums.plus(own.sums(each.share), -1.0)) for each in self._shares]
        newest = out.blocks[-1]
        row = (1.0, *out.features, newest.familiar)
        rest = replace(self, _shares=_weighed(less))
        parts = rest._parts(row, own=True, more=1 / newest.weight)
        value = newest.log_ms - _dot(row, FIRST)
        return mixed(0.1, parts) <= value <= mixed(0.9, parts)

    def _parts(self, row: Sequence[float], *, own: bool = False, more: float = 0.0) -> list[Part]:
        return [
            (each.weight, *each.found.line(row, more + (each.share if own else 0.0)), each.found.free)
            for each in self._shares
        ]


def learn(kind: Series, known: Iterable[Known]) -> TimeModel:
    """Return what the changes `known` teach, all timed in one way, newest first.

    Raises ValueError where `kind` names a change: a model is of a way of timing.
    """
    if kind.change:
        raise ValueError("a model is of one way of timing, not of one change")
    changes = tuple(known)
    reduced = _reduced(changes)
    return TimeModel(kind, changes, _weighed(_with_prior(share, reduced.sums(share)) for share in _OWN))


def kind_of(series: Series) -> Series:
    """Return the way of timing of a series: all that must agree but the change."""
    return replace(series, change="")


@dataclass(frozen=True, slots=True)
class _Reduced:
    """What is added up of some changes whatever share is their own."""

    columns: Sequence[Sequence[float]]
    """Of the means of the changes, one for each coefficient."""
    y: Sequence[float]
    """What the prior's mean leaves over of the mean of each change."""
    weights: Sequence[float]
    """What all blocks of each change count together."""
    within: Sums
    """What the blocks of single changes tell, whose features are the same."""

    def sums(self, share: float) -> Sums:
        """Return all that is added up where the changes' own differences have this share."""
        weights = [weight / (1 + share * weight) for weight in self.weights]
        return Sums.of(self.columns, self.y, weights).plus(self.within)


def _reduced(changes: Sequence[Known]) -> _Reduced:
    rows, y, weights = [], [], []
    squares = products = total = log_weight = 0.0
    count = 0
    for known in changes:
        fixed = (1.0, *known.features)
        blocks, start = known.blocks, _dot(fixed, FIRST)
        own = [block.weight for block in blocks]
        left = [block.log_ms - start - FIRST[-1] * block.familiar for block in blocks]
        weight = sum(own)
        familiar = sum(part * block.familiar for part, block in zip(own, blocks, strict=True)) / weight
        mean = _dot(own, left) / weight
        rows.append((*fixed, familiar))
        y.append(mean)
        weights.append(weight)
        for part, block, value in zip(own, blocks, left, strict=True):
            squares += part * (block.familiar - familiar) ** 2
            products += part * (block.familiar - familiar) * (value - mean)
            total += part * (value - mean) ** 2
            log_weight += math.log(part)
        log_weight -= math.log(weight)
        count += len(blocks) - 1
    size = len(COEFFICIENTS)
    nothing = tuple((0.0,) * (row + 1) for row in range(size - 1))
    within = Sums(
        (*nothing, (*(0.0,) * (size - 1), squares)), (*(0.0,) * (size - 1), products), total, count, log_weight
    )
    return _Reduced(list(zip(*rows, strict=True)) or [()] * size, y, weights, within)


def _with_prior(share: float, sums: Sums) -> tuple[float, Prior, Sums]:
    """Return the prior for a share and its sums: how steady the hand is, is told by a first fit."""
    first = posterior(_prior(_SCATTER), sums)
    return share, _prior(math.sqrt(first.rate / first.shape)), sums


def _weighed(given: Iterable[tuple[float, Prior, Sums]]) -> tuple[_Share, ...]:
    """Return the shares that are not too unlikely, their evidence turned into weights that make 1."""
    found = [_Share(0.0, *each, posterior(*each[1:])) for each in given]
    best = max(each.found.evidence for each in found)
    likely = [replace(each, weight=math.exp(each.found.evidence - best)) for each in found]
    likely = [each for each in likely if each.weight >= _UNLIKELY]
    total = sum(each.weight for each in likely)
    return tuple(replace(each, weight=each.weight / total) for each in likely)


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the sum of the products, over as many as the shorter has."""
    return float(sum(map(mul, one, other)))


def _interval(parts: Sequence[Part], about: float, turned: Callable[[float], float]) -> Interval:
    """Return the middle and the 80 % interval of a mixture, moved by `about` and `turned` into milliseconds."""
    low, middle, high = (turned(about + mixed(share, parts)) for share in (0.1, 0.5, 0.9))
    return Interval(middle, low, high)
