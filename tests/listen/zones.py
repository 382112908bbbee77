"""Guitars that speak MPE, one member channel for each string."""

from __future__ import annotations

from trainer.practice.wiring import MPE_BEND_SEMITONES, Wiring


def mpe(count: int = 6, *, upper: bool = False, descending: bool = False) -> Wiring:
    """Return the wiring of such a guitar; `descending`: its first member is the last string.

    The lower zone has its master on channel 1 and members from 2 up, the upper zone 16 and members from 15 down (MPE
    specification, RP-053).
    """
    members = range(15, 15 - count, -1) if upper else range(2, 2 + count)
    strings = {channel: count - place if descending else 1 + place for place, channel in enumerate(members)}
    return Wiring(strings=strings, master=16 if upper else 1, bend_semitones=MPE_BEND_SEMITONES)
