"""A drill as a passage to finger: its strokes as notes, as much of its shapes set as is asked for."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from fractions import Fraction

from trainer.errors import ChangeoverError, wrong
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.hand.search.fingering import Fingering, Taken, shape_of
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


def fingered(drill: Drill, way: Fingering) -> Drill:
    """Return `drill` with every shape as `way` takes its notes; `way` fingers the passage that `passage_of` made.

    Raises ChangeoverError where a finger is used twice within one shape, which then is no shape to hold.
    """
    beat = Fraction(4, drill.meter[1])
    pairs = zip(way.passage.notes, way.notes, strict=True)
    taken = {(note.onset, note.midi): each for note, each in pairs}
    steps = []
    start = Fraction(0)
    for number, step in enumerate(drill.steps, start=1):
        end = start + step.beats * beat
        steps.append(_fingered(step, start, end, number, taken, way, drill))
        start = end
    return replace(drill, steps=tuple(steps))


def _fingered(
    step: Step,
    start: Fraction,
    end: Fraction,
    number: int,
    taken: dict[tuple[Fraction, int], Taken],
    way: Fingering,
    drill: Drill,
) -> Step:
    beat, count = Fraction(4, drill.meter[1]), drill.instrument.strings
    own = {note.onset for note in way.passage.notes if start <= note.onset < end}
    stops: list[Stop | None] = [None] * count
    for (onset, _), each in taken.items():
        if onset in own:
            stops[count - each.string] = Stop(each.fret, each.finger or None)
    barres: dict[int, Barre] = {}
    for move in way.moves:
        for lying in move.hands:
            if move.onset in own and lying.sounding and lying.barre is not None:
                barres[lying.finger] = lying.barre
    try:
        shape = shape_of(stops, barres.values())
    except ChangeoverError as error:
        why = error.problems[0].what
        raise wrong(f"shape {number} is not held as one shape: {why}", hint="see it without -o") from error

    def moved(stroke: Stroke) -> Stroke:
        onset = start + (stroke.beat - 1) * beat
        pitches = [drill.instrument.pitch(string, _fret(step.shape, string)) for string in stroke.strings]
        return replace(stroke, strings=tuple(taken[onset, pitch].string for pitch in pitches))

    strokes = tuple(map(moved, step.strokes))
    melody = step.melody
    if melody is not None and (old := step.shape[melody]) is not None:
        pitch = drill.instrument.pitch(melody, old.fret)
        melody = next((each.string for (at, midi), each in taken.items() if at in own and midi == pitch), melody)
    return replace(step, shape=shape, strokes=strokes, melody=melody)


def _fret(shape: Shape, string: int) -> int:
    stop = shape[string]
    return 0 if stop is None else stop.fret
