"""Registered parameters (MIDI 1.0): what a guitar says of its bend and of MPE, by controllers in a row.

Two controllers choose a parameter, and those of data entry set whichever was chosen last on their channel. Choosing a
non-registered one chooses none of these.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TypeAlias

Parameter: TypeAlias = tuple[int, int]
"""High and low byte of its number."""

NONE: Parameter = (127, 127)
"""None is chosen."""
BEND_RANGE: Parameter = (0, 0)
"""Range of the pitch bend: in semitones, and, by the fine controller, in cents."""
ZONE: Parameter = (0, 6)
"""On a master channel: how many members the MPE zone has (MPE specification, RP-053)."""
ZONES: Mapping[int, range] = MappingProxyType({1: range(2, 16), 16: range(15, 1, -1)})
"""The channels that can be a zone's master, each with the channels that can be its members, in order."""

DATA_COARSE, DATA_FINE = 6, 38
"""Controllers that set the parameter chosen."""
_OTHER_FINE, _OTHER_COARSE, _FINE, _COARSE = 98, 99, 100, 101
"""Controllers that choose one: non-registered, then registered."""


def chosen(before: Parameter, controller: int, value: int) -> Parameter:
    """Return which parameter is chosen on a channel after a controller, `before` having been."""
    if controller == _COARSE:
        return value, before[1]
    if controller == _FINE:
        return before[0], value
    return NONE if controller in {_OTHER_FINE, _OTHER_COARSE} else before
