"""How one guitar speaks over MIDI: which channel is which string, its bends, its delays, its pedals. A value only."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, TypeAlias

from trainer.fretboard.pitch import frequency

CHANNELS = range(1, 17)
"""MIDI channels as players count them; on the wire they are one less."""
SUSTAIN = 64
"""The controller that a sustain pedal sends (MIDI 1.0, table of controllers)."""
OWN_CLICK = "Changeover click"
"""Our own MIDI port that the click goes out by; nobody's guitar."""
BEND_SEMITONES = 2.0
"""Range of the pitch bend until a guitar says otherwise (MIDI 1.0, RPN 0)."""
MPE_BEND_SEMITONES = 48.0
"""The same for the members of an MPE zone (MPE specification, RP-053)."""

Sends: TypeAlias = Literal["control", "note"]
"""What a pedal sends: a controller, or a note."""


@dataclass(frozen=True, slots=True)
class Trigger:
    """A controller or note that calls a command. Raises ValueError where it is none that MIDI has."""

    kind: Sends
    """What is sent."""
    number: int
    """The controller's or the note's number, 0 to 127."""
    channel: int | None = None
    """The channel it must come on, 1 to 16; None: any."""

    def __post_init__(self) -> None:
        if self.kind not in {"control", "note"}:
            raise ValueError(f"a trigger is a control or a note, not {self.kind!r}")
        if not 0 <= self.number <= 127:
            raise ValueError(f"a {self.kind} is numbered 0 to 127, not {self.number}")
        if self.channel is not None:
            _check_channel(self.channel)


@dataclass(frozen=True, slots=True)
class Wiring:
    """How one guitar speaks. Raises ValueError where it contradicts itself.

    Mappings that are given are copied and cannot be changed afterwards.
    """

    strings: Mapping[int, int] = field(default_factory=dict)
    """Channel (1 to 16) to string; empty where the guitar does not tell its strings apart."""
    master: int | None = None
    """The channel whose bend and controllers are meant for all strings; None: there is none."""
    bend_semitones: float = BEND_SEMITONES
    """How far a full bend goes until the guitar says so itself (RPN 0)."""
    latency_ms: Mapping[int, float] = field(default_factory=dict)
    """How late each string is heard; taken off its notes once, by the decoder."""
    latency_all_ms: float = 0.0
    """The same for notes whose string is not known."""
    levels: Mapping[int, float] = field(default_factory=dict)
    """What to add to each string's velocities so that even plucks read alike; empty where not levelled."""
    calls: Mapping[Trigger, str] = field(default_factory=lambda: {Trigger("control", SUSTAIN): "press"})
    """Pedals: which command of the program each one calls."""

    def __post_init__(self) -> None:
        for name in ("strings", "latency_ms", "levels", "calls"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))
        for channel in self.strings:
            _check_channel(channel)
        if len(set(self.strings.values())) < len(self.strings):
            raise ValueError("two channels cannot be the same string")
        for string in (*self.strings.values(), *self.latency_ms, *self.levels):
            if string < 1:
                raise ValueError(f"strings are numbered from 1, not {string}")
        if self.master is not None:
            _check_channel(self.master)
            if self.master in self.strings:
                raise ValueError(f"channel {self.master} cannot be one string and all strings")
        if not (math.isfinite(self.bend_semitones) and self.bend_semitones >= 0):
            raise ValueError(f"a bend range is 0 semitones or more, not {self.bend_semitones}")
        numbers = (self.latency_all_ms, *self.latency_ms.values(), *self.levels.values())
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError("latencies and levels are finite numbers")

    @property
    def levelled(self) -> bool:
        """Tell whether the strings' velocities can be compared."""
        return bool(self.levels)

    def latency_s(self, string: int | None) -> float:
        """Return how many seconds late a note on `string` is heard."""
        return (self.latency_all_ms if string is None else self.latency_ms.get(string, 0.0)) / 1000


def in_order(base: int = 1, count: int = 6, *, descending: bool = False) -> Mapping[int, int]:
    """Return `strings` of a guitar with `count` channels in a row from channel `base` on.

    Ascending: the lowest channel is string 1. Descending: it is the last string. Raises ValueError where the channels
    do not fit in 1 to 16.
    """
    if count < 1 or base not in CHANNELS or base + count - 1 not in CHANNELS:
        raise ValueError(f"{count} channels from {base} on do not fit in 1 to 16")
    return {base + place: count - place if descending else 1 + place for place in range(count)}


def two_periods_ms(pitches: Mapping[int, int]) -> Mapping[int, float]:
    """Return the latency by string that physics allows at best: two periods of each open string.

    `pitches` is the MIDI note of each open string. A pitch tracker needs about two periods to know a pitch (common
    practice).
    """
    return {string: 2000 / frequency(pitch) for string, pitch in pitches.items()}


def _check_channel(channel: int) -> None:
    if channel not in CHANNELS:
        raise ValueError(f"MIDI has channels 1 to 16, not {channel}")
