"""A drill as a passage to finger: its strokes as notes, as much of its shapes set as is asked for."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

from trainer.hand.search.passage import Note, Passage
from trainer.practice.drill import Drill, Step


class Keep(StrEnum):
    """What of a drill's shapes stays as it is written."""

    PITCHES = "pitches"
    """Nothing: strings, frets and fingers are sought."""
    FRETS = "frets"
    """Strings and frets; fingers are sought."""
    FINGERS = "fingers"
    """Strings, frets and every finger that is given."""


def passage_of(drill: Drill, keep: Keep = Keep.FRETS) -> Passage:
    """Return the notes of `drill`, once through, each sounding until its string or its shape is left.

    A shape is held while it lasts, so the notes of a broken chord ring on through it.
    """
    beat = Fraction(4, drill.meter[1])
    notes: list[Note] = []
    start = Fraction(0)
    for step in drill.steps:
        notes += _notes(step, start, beat, drill, keep)
        start += step.beats * beat
    return Passage.of(notes, drill.instrument)


def _notes(step: Step, start: Fraction, beat: Fraction, drill: Drill, keep: Keep) -> list[Note]:
    strokes = step.plucked.strokes
    bar = Fraction(drill.meter[0]) * beat
    found = []
    for number, stroke in enumerate(strokes):
        for string in stroke.strings:
            stop = step.shape[string]
            if stop is None:
                continue
            again = (later.beat for later in strokes[number + 1 :] if string in later.strings)
            onset = start + (stroke.beat - 1) * beat
            finger = stop.finger if stop.stopped else 0
            found.append(
                Note(
                    onset,
                    (next(again, step.plucked.end) - stroke.beat) * beat,
                    drill.instrument.pitch(string, stop.fret),
                    string=None if keep is Keep.PITCHES else string,
                    fret=None if keep is Keep.PITCHES else stop.fret,
                    finger=finger if keep is Keep.FINGERS else None,
                    bar=int(onset // bar) + 1,
                )
            )
    return found
