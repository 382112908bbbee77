"""Printed chord diagrams: where one stands a shape begins, and it says what is held, silent fingers included."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from trainer.fretboard.shape import Shape, Stop
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Note, Passage
from trainer.scores.excerpt import Excerpt, Tone
from trainer.scores.hands import NoFingeringError, PlacedTone, held_shape
from trainer.scores.shapes import Run


@dataclass(frozen=True, slots=True)
class Framed:
    """An excerpt with what its diagrams say."""

    excerpt: Excerpt
    """The notes, those under a diagram set on its strings; notes that do not fit theirs are gone."""
    shapes: dict[Fraction, Shape]
    """What each diagram holds, by onset."""
    added: dict[Fraction, tuple[int, ...]]
    """Fingers that a diagram does not give and the program does, by onset."""
    said: tuple[str, ...]
    """What was decided on the way, a sentence each."""

    @property
    def onsets(self) -> frozenset[Fraction]:
        """Where a shape begins whatever the notes say: at each diagram."""
        return frozenset(self.shapes)

    def with_shapes(self, found: Sequence[Run]) -> tuple[Run, ...]:
        """Return the runs before the first diagram, then one for each diagram with the notes under it."""
        drawn = sorted(self.shapes)
        if not drawn:
            return tuple(found)
        free = [run for run in found if run.onset < drawn[0]]
        runs = [replace(run, end=min(run.end, drawn[0])) for run in free]
        for onset, end in zip(drawn, [*drawn[1:], self.excerpt.length], strict=True):
            notes = [each for run in found for each in run.taken if onset <= each.tone.onset < end]
            shape = self.shapes[onset]
            runs.append(Run(onset, end, _kept(notes, shape), shape, diagram=True, added=self.added.get(onset, ())))
        return tuple(runs)


def _kept(notes: Sequence[PlacedTone], shape: Shape) -> tuple[PlacedTone, ...]:
    return tuple(
        each
        for each in notes
        if (stop := shape[each.string]) is not None and not stop.silent and stop.fret == each.fret
    )


def drawn(excerpt: Excerpt) -> dict[Fraction, Shape]:
    """Return what each diagram for the instrument holds, by onset; one of which nothing sounds is none."""
    strings = excerpt.instrument.strings
    return {
        onset: symbol.shape
        for onset, symbol in excerpt.symbols
        if symbol.shape is not None and symbol.shape.strings == strings and symbol.shape.sounding
    }


def diagrammed(excerpt: Excerpt, finger: Callable[[Passage], Fingering]) -> Framed:
    """Return `excerpt` with the notes under each diagram on the diagram's strings.

    `finger` seeks the fingers that diagrams do not give. A diagram reaches to the next one, or to the end. Where a
    note under it fits none of its strings, the melody is someone else's and the diagram alone is what is played,
    struck once.
    """
    shapes = drawn(excerpt)
    added: dict[Fraction, tuple[int, ...]] = {}
    if not all(shape.fingered for shape in shapes.values()):
        shapes, added = _fingered(shapes, excerpt, finger)
    onsets = sorted(shapes)
    kept = [tone for tone in excerpt.tones if not onsets or tone.onset < onsets[0]]
    misfits = 0
    for number, onset in enumerate(onsets):
        end = onsets[number + 1] if number + 1 < len(onsets) else excerpt.length
        under = [tone for tone in excerpt.tones if onset <= tone.onset < end]
        placed = [_placed(tone, shapes[onset], excerpt) for tone in under]
        fits = [tone for tone in placed if tone is not None]
        if len(fits) == len(under):
            kept += fits
        else:
            misfits += 1
    words = f"{misfits} diagrams do not hold the notes under them: the diagrams are what is played"
    return Framed(replace(excerpt, tones=tuple(kept)), shapes, added, (words,) if misfits else ())


def _fingered(
    shapes: dict[Fraction, Shape], excerpt: Excerpt, finger: Callable[[Passage], Fingering]
) -> tuple[dict[Fraction, Shape], dict[Fraction, tuple[int, ...]]]:
    """Return the diagrams' shapes with fingers, and those that are ours; one that no hand can hold stays as it is."""
    way = _way(shapes, excerpt, finger)
    if way is None:
        return shapes, {}
    fingers = {(note.onset, each.string): each.finger for note, each in zip(way.passage.notes, way.notes, strict=True)}
    lying = {
        move.onset: {each.finger: each.barre for each in move.hands if each.barre is not None} for move in way.moves
    }
    found = dict(shapes)
    added: dict[Fraction, tuple[int, ...]] = {}
    for onset, shape in shapes.items():
        if onset not in lying:
            continue
        stops = {
            string: Stop(stop.fret, stop.finger or fingers[onset, string] or None, stop.silent)
            for string, stop in shape
        }
        barres = {**lying[onset], **{barre.finger: barre for barre in shape.declared}}
        whole = held_shape(stops, barres, shape.strings)
        found[onset] = whole or shape
        if whole is not None:
            added[onset] = tuple(each for each in whole.placings if each not in shape.placings)
    return found, added


def _way(shapes: dict[Fraction, Shape], excerpt: Excerpt, finger: Callable[[Passage], Fingering]) -> Fingering | None:
    """Return a fingering of the diagrams struck one after the other, without those that no hand can hold."""
    onsets = sorted(shapes)
    while onsets:
        ends = [*onsets[1:], excerpt.length]
        notes = [
            Note(onset, end - onset, excerpt.instrument.pitch(string, stop.fret), string, stop.fret, _pin(stop))
            for onset, end in zip(onsets, ends, strict=True)
            for string, stop in shapes[onset]
        ]
        try:
            return finger(Passage.of(notes, excerpt.instrument))
        except NoFingeringError as error:
            del onsets[error.found.index]
    return None


def _pin(stop: Stop) -> int | None:
    return stop.finger if stop.fret else 0


def _placed(tone: Tone, shape: Shape, excerpt: Excerpt) -> Tone | None:
    """Return the tone set on the diagram's string that sounds it; None where no string does."""
    for string, stop in shape:
        if stop.silent or tone.printed.string not in {None, string}:
            continue
        if excerpt.instrument.pitch(string, stop.fret) == tone.midi:
            fingers = (stop.finger,) if stop.finger else (0,) if not stop.fret else ()
            printed = replace(tone.printed, string=string, fret=stop.fret, fingers=fingers or tone.printed.fingers)
            return replace(tone, printed=printed)
    return None
