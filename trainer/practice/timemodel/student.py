"""Student's t distribution, and mixtures of it: how likely a value is, and which value is so likely.

The probability is 1/2 + half of 1 - I_x(n/2, 1/2) with x = n / (n + t^2) (Abramowitz and Stegun, Handbook of
Mathematical Functions, 26.7.1 and 26.5.27), the incomplete beta function by its continued fraction (26.5.8).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

Part: TypeAlias = tuple[float, float, float, float]
"""One t distribution of a mixture: (weight, middle, scale, degrees of freedom)."""

_TERMS = 200
_TINY = 1e-300
_HALVINGS = 60


def below(value: float, parts: Sequence[Part]) -> float:
    """Return how likely a mixture, whose weights make 1, lies at or below `value`."""
    return math.fsum(weight * cdf((value - middle) / scale, free) for weight, middle, scale, free in parts)


def quantile(share: float, parts: Sequence[Part]) -> float:
    """Return the value that a mixture lies below with probability `share`, by halving."""
    widest = max(scale for _, _, scale, _ in parts)
    low = high = parts[0][1]
    step = widest
    while below(low, parts) > share:
        low, step = low - step, step * 2
    step = widest
    while below(high, parts) < share:
        high, step = high + step, step * 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if below(middle, parts) < share else (low, middle)
        if high - low < 1e-9 * widest:
            break
    return (low + high) / 2


def cdf(t: float, free: float) -> float:
    """Return how likely Student's t with `free` degrees of freedom lies at or below `t`."""
    tail = incomplete_beta(free / 2, 0.5, free / (free + t * t)) / 2
    return tail if t < 0 else 1 - tail


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b)."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):  # the fraction is quick on the other side only (26.5.2)
        return 1 - incomplete_beta(b, a, 1 - x)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)) / a
    # The fraction from its head on, by Lentz's rule as Thompson and Barnett have it (from memory).
    value, c, d = 1.0, 1.0, 0.0
    for number in range(1, _TERMS):
        m = number // 2
        if number % 2:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / (1 + term * d or _TINY)
        c = 1 + term / c or _TINY
        value *= c * d
        if abs(c * d - 1) < 1e-14:
            break
    return front / value
