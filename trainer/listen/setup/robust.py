"""Statistics that a few gross errors do not move."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sqrt
from statistics import median

from trainer.practice.statistics import CERTAIN, NORMAL_MAD

_SMALL = 0.8
"""In n values the median absolute deviation is too small by n / (n - 0.8) (Croux and Rousseeuw 1992; from memory)."""


def scatter(values: Sequence[float]) -> float:
    """Return a robust standard deviation of `values`, from their median absolute deviation."""
    if not values:
        return 0.0
    middle = median(values)
    return NORMAL_MAD * median(abs(value - middle) for value in values) * len(values) / (len(values) - _SMALL)


def margin(count: int, sigma: float) -> float:
    """Return how far the median of `count` values that scatter by `sigma` may lie from the truth, in 95 cases of 100.

    The standard error of a median of n normal values is sqrt(pi / 2n) of their standard deviation (large n); Student's
    bound for few values is z + (z^3 + z) / 4(n - 1) (Cornish and Fisher). With one value nothing is known: infinity.
    """
    if count < 2:
        return float("inf")
    bound = CERTAIN + (CERTAIN**3 + CERTAIN) / (4 * (count - 1))
    return bound * sqrt(pi / (2 * count)) * sigma
