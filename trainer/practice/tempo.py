"""The limits of a tempo and its steps."""

from __future__ import annotations

SLOWEST, FASTEST = 20.0, 240.0
"""Limits in beats per minute."""
STEP = 5.0
"""Beats per minute that one step slower or faster makes."""


def within_limits(tempo: float) -> float:
    """Return `tempo` in beats per minute, brought within the limits."""
    return min(max(tempo, SLOWEST), FASTEST)
