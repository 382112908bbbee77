"""A drill as a passage to finger: its strokes as notes, as much of its shapes set as is asked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate, pairwise

from trainer.errors import ChangeoverError, wrong
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import Barre, Stop
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


def credit(program: Sequence[int], player: Sequence[int]) -> str:
    """Return which fingers are whose: `fingers 1 2 by the program, finger 3 set by the player`; empty for none."""
    told = ((program, "by the program"), (player, "set by the player"))
    return ", ".join(
        f"finger{'s' if len(fingers) > 1 else ''} {' '.join(map(str, fingers))} {how}"
        for fingers, how in told
        if fingers
    )


def credits_of(fingers: int, program: int, player: int, given: str) -> str:
    """Return how many of so many fingers are whose, as a sentence; `given`: how those are that were there before."""
    kept = max(fingers - program - player, 0)
    told = [f"{count} {how}" for count, how in ((kept, given), (player, "set by the player")) if count]
    if not told:
        return "All fingers are the program's."
    first, _, rest = told[0].partition(" ")
    told[0] = f"{first} of {fingers} fingers {rest}"
    if program:
        told.append("the others are the program's")
    return f"{', '.join(told)}."


def passage_of(drill: Drill, keep: Keep = Keep.FRETS) -> Passage:
    """Return the notes of `drill`, once through, each sounding until its string or its shape is left.

    A shape is held while it lasts, so the notes of a broken chord ring on through it.
    """
    beat = Fraction(4, drill.meter[1])
    spans = zip(drill.steps, spans_of(drill), strict=True)
    notes = [note for step, (start, _) in spans for note in _notes(step, start, beat, drill, keep)]
    return Passage.of(notes, drill.instrument)


def spans_of(drill: Drill) -> tuple[tuple[Fraction, Fraction], ...]:
    """Return when each shape of `drill` begins and when it is over, in quarter notes from the start."""
    beat = Fraction(4, drill.meter[1])
    edges = accumulate((step.beats * beat for step in drill.steps), initial=Fraction(0))
    return tuple(pairwise(edges))


def moves_of(drill: Drill, way: Fingering) -> tuple[tuple[int, ...], ...]:
    """Return for each shape of `drill` the indices of the moves of `way` that come to it or are made while it lasts."""
    return tuple(
        tuple(index for index, move in enumerate(way.moves) if start <= move.onset < end)
        for start, end in spans_of(drill)
    )


def costs_of(drill: Drill, way: Fingering) -> tuple[float, ...]:
    """Return what each shape of `drill` costs: coming to it, and whatever moves while it lasts."""
    return tuple(sum(way.moves[index].cost for index in moves) for moves in moves_of(drill, way))


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
    taken = way.places
    spans = zip(drill.steps, spans_of(drill), strict=True)
    steps = (
        _fingered(step, start, end, number, taken, way, drill) for number, (step, (start, end)) in enumerate(spans, 1)
    )
    return replace(drill, steps=tuple(steps))


def credited(drill: Drill, way: Fingering, given: Passage, how: str, places: Sequence[str] = ()) -> Drill:
    """Return `drill` as `way` takes it, told whose its fingers are.

    `given` is the passage before the player set anything, `how` says how its fingers are; `places` are what each
    shape's note says of where it is. What was written of other fingers is left out. Raises ChangeoverError as
    `fingered` does.
    """
    new = fingered(drill, way)
    if not places and [step.shape for step in new.steps] == [step.shape for step in drill.steps]:
        return drill
    whose = [_whose(way, given, start, end) for start, end in spans_of(drill)]
    kept, program, player = (sum(map(len, each)) for each in zip(*whose, strict=True))
    steps = []
    for number, (step, old, (_, ours, theirs)) in enumerate(zip(new.steps, drill.steps, whose, strict=True)):
        told = [text for text in (*places[number : number + 1], credit(ours, theirs)) if text]
        same = not places and step.shape == old.shape
        note = "; ".join(told)
        steps.append(step if same else replace(step, note=f"{note[:1].upper()}{note[1:]}." if note else ""))
    about = credits_of(kept + program + player, program, player, how) if program or player else f"Fingered {how}."
    return replace(new, steps=tuple(steps), about=about, trains=("fingering",) if drill.trains else ())


def _whose(way: Fingering, given: Passage, start: Fraction, end: Fraction) -> tuple[tuple[int, ...], ...]:
    """Return the fingers of a stretch that were given, those of the program and those that the player has set.

    One given once in it stands for all of it.
    """
    kept: set[int] = set()
    program: set[int] = set()
    player: set[int] = set()
    for old, note, taken in zip(given.notes, way.passage.notes, way.notes, strict=True):
        if taken.finger and start <= note.onset < end:
            whose = program if note.finger is None else kept if note.finger == old.finger else player
            whose.add(taken.finger)
    return tuple(tuple(sorted(each)) for each in (kept, program - kept - player, player - kept))


def _fingered(
    step: Step,
    start: Fraction,
    end: Fraction,
    number: int,
    taken: dict[tuple[Fraction, int], list[Taken]],
    way: Fingering,
    drill: Drill,
) -> Step:
    beat, count = Fraction(4, drill.meter[1]), drill.instrument.strings
    own = {note.onset for note in way.passage.notes if start <= note.onset < end}
    stops: list[Stop | None] = [None] * count
    for each in (each for (onset, _), unison in taken.items() if onset in own for each in unison):
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
        # A muted string has no note, and two strings of one pitch are told apart by nothing but their order.
        pitches = Counter(
            drill.instrument.pitch(string, stop.fret) for string in stroke.strings if (stop := step.shape[string])
        )
        strings = [each.string for pitch, count in pitches.items() for each in taken[onset, pitch][:count]]
        return replace(stroke, strings=tuple(strings))

    strokes = tuple(map(moved, step.strokes))
    melody = step.melody
    if melody is not None and (old := step.shape[melody]) is not None:
        pitch = drill.instrument.pitch(melody, old.fret)
        sung = (unison[0].string for (at, midi), unison in taken.items() if at in own and midi == pitch)
        melody = next(sung, melody)
    return replace(step, shape=shape, strokes=strokes, melody=melody)
