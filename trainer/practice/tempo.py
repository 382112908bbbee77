"""The tempo and how it follows what landed."""

from __future__ import annotations

from fractions import Fraction

SLOWEST, FASTEST = 20.0, 240.0
"""Limits in beats per minute."""
STEP = 5.0
"""Beats per minute that one step slower or faster makes."""

FACTORS: tuple[tuple[Fraction, float], ...] = (
    (Fraction(1), 1.06),
    (Fraction(3, 4), 1.0),
    (Fraction(1, 2), 0.94),
    (Fraction(0), 0.85),
)
"""(least share landed, factor), the first that fits: up only when all landed, level while most do, down faster than up.

Common practice of the trade, no source for the numbers.
"""


def within_limits(tempo: float) -> float:
    """Return `tempo` in beats per minute, brought within the limits."""
    return min(max(tempo, SLOWEST), FASTEST)


def following_tempo(tempo: float, landed: int, asked: int) -> float:
    """Return the next run's tempo in whole beats per minute after `landed` of `asked` changes landed at `tempo`.

    Where the factor is 1 the tempo stays as it is.
    """
    share = Fraction(landed, asked)
    factor = next(factor for least, factor in FACTORS if share >= least)
    return within_limits(tempo if factor == 1 else float(round(tempo * factor)))
