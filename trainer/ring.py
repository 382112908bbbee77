"""A few values that a key goes through in turn, round the end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

_T = TypeVar("_T")


def turned(ring: Sequence[_T], now: _T, by: int = 1) -> _T:
    """Return the value `by` places after `now`, the first after the last. Raises ValueError where `now` is none."""
    return ring[(ring.index(now) + by) % len(ring)]
