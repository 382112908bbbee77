"""music21 as the reference: what it reads of the same file, in our terms. Imported only where a test asks for it."""

from __future__ import annotations

import warnings
from fractions import Fraction
from pathlib import Path
from typing import Any


def library() -> Any:
    """Return music21, whose import warns of things that are not ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21

    return music21


def parsed(source: Path | bytes) -> Any:
    """Return music21's score of a MusicXML file."""
    music21 = library()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if isinstance(source, bytes):
            return music21.converter.parseData(source, format="musicxml")
        return music21.converter.parse(source, format="musicxml", forceSource=True)


def notes(score: Any) -> list[list[tuple[Fraction, Fraction, int, int]]]:
    """Return by part (onset, duration, sounding MIDI number, 1 where it goes on from a tie), sorted; no grace notes."""
    found = []
    for part in score.parts:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            part = part.toSoundingPitch()
        own = []
        for element in part.recurse().notes:
            onset = Fraction(element.getOffsetInHierarchy(part)).limit_denominator(10_000)
            length = Fraction(element.duration.quarterLength).limit_denominator(10_000)
            if element.duration.isGrace or "ChordSymbol" in element.classes:
                continue
            for each in element.notes if element.isChord else [element]:
                if not hasattr(each, "pitch"):
                    continue
                tied = int(each.tie is not None and each.tie.type in {"stop", "continue"})
                own.append((onset, length, each.pitch.midi, tied))
        found.append(sorted(own))
    return found
