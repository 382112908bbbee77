"""A drill as a passage to finger and back: its strokes as notes, and its shapes as a fingering takes them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

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
    spans = zip(drill.steps, spans_of(drill), strict=True)
    notes = [note for step, (start, _) in spans for note in _notes(step, start, drill, keep)]
    return Passage.of(notes, drill.instrument)


def spans_of(drill: Drill) -> tuple[tuple[Fraction, Fraction], ...]:
    """Return when each shape of `drill` begins and when it is over, in quarter notes from the start."""
    return tuple(pairwise(drill.onsets))


def moves_of(drill: Drill, way: Fingering) -> tuple[tuple[int, ...], ...]:
    """Return for each shape of `drill` the indices of the moves of `way` that come to it or are made while it lasts."""
    return tuple(
        tuple(index for index, move in enumerate(way.moves) if start <= move.onset < end)
        for start, end in spans_of(drill)
    )


def costs_of(drill: Drill, way: Fingering) -> tuple[float, ...]:
    """Return what each shape of `drill` costs: coming to it, and whatever moves while it lasts."""
    return tuple(sum(way.moves[index].cost for index in moves) for moves in moves_of(drill, way))


def fingered(drill: Drill, way: Fingering) -> Drill:
    """Return `drill` with every shape as `way` takes its notes; `way` fingers the passage that `passage_of` made.

    Raises ChangeoverError where a finger is used twice within one shape, which then is no shape to hold.
    """
    anew = _Anew(drill, way, way.places)
    return replace(drill, steps=tuple(anew.step(index, *span) for index, span in enumerate(spans_of(drill))))


def _notes(step: Step, start: Fraction, drill: Drill, keep: Keep) -> list[Note]:
    bar = drill.meter[0] * drill.beat
    plucked = step.plucked
    found = []
    for stroke in plucked.strokes:
        for string in stroke.strings:
            stop = step.shape[string]
            if stop is None:
                continue
            onset = start + (stroke.beat - 1) * drill.beat
            finger = stop.finger if stop.stopped else 0
            found.append(
                Note(
                    onset,
                    (plucked.until(string, stroke.beat) - stroke.beat) * drill.beat,
                    drill.instrument.pitch(string, stop.fret),
                    string=None if keep is Keep.PITCHES else string,
                    fret=None if keep is Keep.PITCHES else stop.fret,
                    finger=finger if keep is Keep.FINGERS else None,
                    bar=int(onset // bar) + 1,
                )
            )
    return found


@dataclass(frozen=True, slots=True)
class _Anew:
    """The shapes of a drill, one by one, as a fingering takes their notes."""

    drill: Drill
    way: Fingering
    taken: dict[tuple[Fraction, int], list[Taken]]
    """The way's `places`, gathered once."""

    def step(self, index: int, start: Fraction, end: Fraction) -> Step:
        """Return the step of this index, which lasts from `start` to `end`."""
        old = self.drill.steps[index]
        onsets = frozenset(note.onset for note in self.way.passage.notes if start <= note.onset < end)
        try:
            shape = self._shape(onsets)
        except ChangeoverError as error:
            why = error.problems[0].what
            raise wrong(f"shape {index + 1} is not held as one shape: {why}", hint="see it without -o") from error
        strokes = tuple(self._stroke(stroke, old.shape, start) for stroke in old.strokes)
        return replace(old, shape=shape, strokes=strokes, melody=self._melody(old, onsets))

    def _shape(self, onsets: frozenset[Fraction]) -> Shape:
        """Return what is held where notes are struck at these onsets."""
        count = self.drill.instrument.strings
        stops: list[Stop | None] = [None] * count
        for each in (each for (onset, _), unison in self.taken.items() if onset in onsets for each in unison):
            stops[count - each.string] = Stop(each.fret, each.finger or None)
        barres: dict[int, Barre] = {}
        for lying in (lying for move in self.way.moves if move.onset in onsets for lying in move.hands):
            if lying.sounding and lying.barre is not None:
                barres[lying.finger] = lying.barre
        return shape_of(stops, barres.values())

    def _stroke(self, stroke: Stroke, old: Shape, start: Fraction) -> Stroke:
        """Return a stroke of the shape `old`, which begins at `start`, on the strings its notes are taken on."""
        onset = start + (stroke.beat - 1) * self.drill.beat
        # A muted string has no note, and two strings of one pitch are told apart by nothing but their order.
        pitches = Counter(self._pitch(string, stop) for string in stroke.strings if (stop := old[string]))
        strings = [each.string for pitch, count in pitches.items() for each in self.taken[onset, pitch][:count]]
        return replace(stroke, strings=tuple(strings))

    def _melody(self, old: Step, onsets: frozenset[Fraction]) -> int | None:
        """Return the string that the melody's pitch is taken on."""
        if old.melody is None or (stop := old.shape[old.melody]) is None:
            return old.melody
        pitch = self._pitch(old.melody, stop)
        sung = (unison[0].string for (at, midi), unison in self.taken.items() if at in onsets and midi == pitch)
        return next(sung, old.melody)

    def _pitch(self, string: int, stop: Stop) -> int:
        return self.drill.instrument.pitch(string, stop.fret)
