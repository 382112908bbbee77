"""What to call a chord: a small table of kinds, by the pitch classes above a root."""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

KINDS = MappingProxyType(
    {
        "": (0, 4, 7),
        "m": (0, 3, 7),
        "dim": (0, 3, 6),
        "aug": (0, 4, 8),
        "sus4": (0, 5, 7),
        "sus2": (0, 2, 7),
        "7": (0, 4, 7, 10),
        "maj7": (0, 4, 7, 11),
        "m7": (0, 3, 7, 10),
        "m(maj7)": (0, 3, 7, 11),
        "dim7": (0, 3, 6, 9),
        "m7b5": (0, 3, 6, 10),
        "6": (0, 4, 7, 9),
        "m6": (0, 3, 7, 9),
        "7sus4": (0, 5, 7, 10),
        "add9": (0, 2, 4, 7),
        "m(add9)": (0, 2, 3, 7),
        "9": (0, 2, 4, 7, 10),
        "maj9": (0, 2, 4, 7, 11),
        "m9": (0, 2, 3, 7, 10),
        "7b9": (0, 1, 4, 7, 10),
    }
)
"""Suffix to semitones above the root, the commoner first (common practice, no source)."""
_WITHOUT_FIFTH = MappingProxyType(
    {"7": (0, 4, 10), "maj7": (0, 4, 11), "m7": (0, 3, 10), "9": (0, 2, 4, 10), "maj9": (0, 2, 4, 11)}
)
"""Kinds that guitarists play without their fifth."""
_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def chord_name(pitches: Iterable[int]) -> str:
    """Return the name of the chord of MIDI note numbers `pitches`, `Am7/G` where another note than the root is lowest.

    Empty where fewer than three different notes sound or none of `KINDS` fits. Of several names that fit, the one
    whose root is lowest in the chord comes first.
    """
    sounding = sorted(set(pitches))
    classes = frozenset(pitch % 12 for pitch in sounding)
    if len(classes) < 3:
        return ""
    bass = sounding[0] % 12
    order = [bass, *(pitch % 12 for pitch in sounding[1:] if pitch % 12 != bass)]
    for kinds in (KINDS, _WITHOUT_FIFTH):
        for root in order:
            for suffix, steps in kinds.items():
                if classes == {(root + step) % 12 for step in steps}:
                    return _NAMES[root] + suffix + ("" if root == bass else f"/{_NAMES[bass]}")
    return ""
