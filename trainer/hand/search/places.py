"""Where one finger can lie, as arrays: every fret and every run of neighbouring strings of an instrument.

A place is a number: 0 is in the air, the others a fret with the strings from `high` to `low` that the finger covers,
one string for a fingertip, more for a barre. Sets of strings are bit masks, string 1 the lowest bit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import PAIRS, Hand

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

AIR = 0
"""The place of a finger that touches nothing."""
NO_PITCH = 128
"""Stands where a place does not cover a string."""
FRET_STEPS, STRING_STEPS = 8, 5
"""How many differences of fret (-3 to 4) and relations of strings (-2 to 2) two places are told apart by."""
CODES = FRET_STEPS * STRING_STEPS
"""How many relations two places can have."""


@dataclass(frozen=True, slots=True)
class Places:
    """Every place on an instrument; arrays of one length, or square, indexed by place."""

    number: dict[tuple[int, int, int], int]
    """Place by (fret, low string, high string)."""
    fret: Ints
    """0 in the air."""
    low: Ints
    """The string at the bass end, the larger number; 0 in the air."""
    high: Ints
    """The string at the treble end; 0 in the air."""
    cover: Ints
    """Mask of the strings covered."""
    pitch: Ints
    """Pitch of each place on each string, (places, strings), `NO_PITCH` where not covered."""
    code: Ints
    """Relation of two places, fret difference and strings, 0 to CODES - 1."""
    apart: Floats
    """Shortest straight line between two places, mm."""
    along: Floats
    """Distance of two places along the neck, mm."""
    fret_mm: Floats
    """Distance of each fret from the nut, mm."""
    cleared: Ints
    """(runs of strings, masks): run that is left once a mask of strings is cleared from its ends, -1 where none is.

    Runs are numbered as in the places of one fret.
    """

    def tip(self, string: int, fret: int) -> int:
        """Return the place of a fingertip."""
        return self.number[fret, string, string]


@lru_cache(maxsize=16)
def places(instrument: Instrument) -> Places:
    """Return every place of `instrument`."""
    count, top = instrument.strings, instrument.top_fret
    spots = [
        (fret, low, high)
        for fret in range(1, top + 1)
        for high in range(1, count + 1)
        for low in range(high, count + 1)
    ]
    fret, low, high = (np.array([0, *column], dtype=np.int64) for column in zip(*spots, strict=True))
    strings = np.arange(1, count + 1)
    covered = (strings >= high[:, None]) & (strings <= low[:, None])
    covered[AIR] = False
    opens = np.array([instrument.pitch(string, 0) for string in range(1, count + 1)])
    pitch = np.where(covered, opens + fret[:, None], NO_PITCH)
    along = np.array([instrument.fret_mm(number) for number in range(top + 1)])
    return Places(
        {spot: index for index, spot in enumerate(spots, start=1)},
        fret,
        low,
        high,
        (covered << (strings - 1)).sum(axis=1),
        pitch.astype(np.int64),
        _codes(fret, low, high),
        _apart(instrument, fret, low, high),
        np.abs(along[fret][:, None] - along[fret]),
        along,
        _cleared(count),
    )


def _cleared(count: int) -> Ints:
    runs = [(low, high) for high in range(1, count + 1) for low in range(high, count + 1)]
    number = {run: index for index, run in enumerate(runs)}
    table = np.full((len(runs), 1 << count), -1, dtype=np.int64)
    for index, (low, high) in enumerate(runs):
        for mask in range(1 << count):
            left = [string for string in range(high, low + 1) if not mask >> (string - 1) & 1]
            if left and left[-1] - left[0] == len(left) - 1:
                table[index, mask] = number[left[-1], left[0]]
    return table


def _codes(fret: Ints, low: Ints, high: Ints) -> Ints:
    """Return the relation of each place to each: frets from the first to the second, and strings likewise.

    Strings count from where the two come nearest; 0 where they share one. Positive is towards the bass.
    """
    frets = np.clip(fret - fret[:, None], -3, FRET_STEPS - 4) + 3
    to_bass = np.maximum(high - low[:, None], 0)
    to_treble = np.maximum(high[:, None] - low, 0)
    strings = np.clip(to_bass - to_treble, -2, 2) + 2
    return np.asarray(frets * STRING_STEPS + strings, dtype=np.int64)


def _apart(instrument: Instrument, fret: Ints, low: Ints, high: Ints) -> Floats:
    """Return the shortest line between each two places: between the strings of each that lie nearest."""
    points = np.zeros((instrument.strings + 1, instrument.top_fret + 1, 2))
    for (string, number), point in instrument.points.items():
        points[string, number] = point
    shared_high, shared_low = np.maximum(high, high[:, None]), np.minimum(low, low[:, None])
    shared = shared_high <= shared_low
    mine = np.where(shared, shared_high, np.where(high > low[:, None], low[:, None], high[:, None]))
    other = np.where(shared, shared_high, np.where(high > low[:, None], high, low))
    gap = points[mine, fret[:, None]] - points[np.clip(other, 0, None), fret]
    apart = np.hypot(gap[..., 0], gap[..., 1])
    apart[AIR, :] = apart[:, AIR] = 0.0
    return np.asarray(apart, dtype=np.float64)


def limits(hand: Hand) -> tuple[Floats, Floats]:
    """Return comfortable and largest reach of a hand as matrices indexed by finger 0 to 3 and finger 0 to 3."""
    comfortable, largest = np.full((4, 4), np.inf), np.full((4, 4), np.inf)
    for (one, other), near, far in zip(PAIRS, hand.comfortable, hand.largest, strict=True):
        comfortable[one - 1, other - 1] = comfortable[other - 1, one - 1] = near
        largest[one - 1, other - 1] = largest[other - 1, one - 1] = far
    return comfortable, largest
