"""Whether the clock ran through a change undisturbed: a machine that slept must not become a slow change."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

LONGEST_GAP_S = 2.0
"""More than this between two readings, which are taken several times a second, and the program stood still."""
SUSPEND_S = 0.25
"""Boot time may run ahead by this much between two readings: the two clocks are read one after the other."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What the clocks showed at one moment."""

    monotonic: float
    """Seconds on the clock that times changes; on Linux it stands still while the machine sleeps."""
    boottime: float | None = None
    """Seconds on the clock that counts sleep too (CLOCK_BOOTTIME); None where the system has none."""


class Interruption(StrEnum):
    """Why a change cannot be timed."""

    STOPPED = "the program stood still"
    """No reading for too long: stopped, swapped out, or asleep on a clock that counts sleep."""
    SUSPENDED = "the computer slept"
    """Boot time ran ahead of monotonic time."""
    BACKWARDS = "the clock ran backwards"
    """No clock that times changes may do this; where it does, no difference on it means anything."""


def interruption(readings: Iterable[Reading]) -> Interruption | None:
    """Return what voids the change that was in flight during `readings`, in the order taken, or None.

    Take one reading when the change starts, one when it lands, and several every second between: a player may well take
    longer than two seconds, a running program may not.
    """
    for before, after in pairwise(readings):
        passed = after.monotonic - before.monotonic
        if passed < 0:
            return Interruption.BACKWARDS
        if _slept(before, after) > SUSPEND_S:
            return Interruption.SUSPENDED
        if passed > LONGEST_GAP_S:
            return Interruption.STOPPED
    return None


def _slept(before: Reading, after: Reading) -> float:
    """Return the seconds by which boot time gained on monotonic time, 0 where boot time is not known."""
    if before.boottime is None or after.boottime is None:
        return 0.0
    return (after.boottime - before.boottime) - (after.monotonic - before.monotonic)
