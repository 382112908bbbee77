"""Strokes written short, for tests."""

from __future__ import annotations

from fractions import Fraction

from trainer.fretboard.plucked import Plucked, Stroke


def figure(text: str, beats: int = 4, melody: int | None = None) -> Plucked:
    """Return strokes written `BEAT:STRINGS`, blanks between: `1:5p,1a 3/2:3i`; right-hand fingers may be left out."""
    strokes = []
    for word in text.split():
        beat, _, strings = word.partition(":")
        parts = strings.split(",")
        fingers = tuple(part[1:] or None for part in parts)
        strokes.append(Stroke(Fraction(beat), tuple(int(part[0]) for part in parts), fingers if any(fingers) else ()))
    return Plucked(Fraction(beats), tuple(strokes), melody)
