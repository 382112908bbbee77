"""Printed chord diagrams: where one stands a shape begins, and it says what is held, silent fingers included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from trainer.fretboard.shape import Shape
from trainer.scores.excerpt import Excerpt, Tone
from trainer.scores.hands import Taken
from trainer.scores.shapes import Run


@dataclass(frozen=True, slots=True)
class Framed:
    """An excerpt with what its diagrams say."""

    excerpt: Excerpt
    """The notes, those under a diagram set on its strings; notes that do not fit theirs are gone."""
    shapes: dict[Fraction, Shape]
    """What each diagram holds, by onset."""
    said: tuple[str, ...]

    @property
    def onsets(self) -> frozenset[Fraction]:
        """Where a shape begins whatever the notes say: at each diagram, and where the reach of one ends."""
        return frozenset(self.shapes)

    def with_shapes(self, found: Sequence[Run]) -> tuple[Run, ...]:
        """Return the runs with the diagrams' shapes in place, and one more for each diagram without notes."""
        by_onset = {run.onset: run for run in found}
        onsets = sorted({*by_onset, *self.shapes})
        runs = []
        for number, onset in enumerate(onsets):
            end = onsets[number + 1] if number + 1 < len(onsets) else self.excerpt.length
            run, shape = by_onset.get(onset), self.shapes.get(onset)
            if shape is not None:
                notes = () if run is None else run.taken
                runs.append(Run(onset, end, _kept(notes, shape), shape, diagram=True))
            elif run is not None:
                runs.append(replace(run, end=end))
        return tuple(runs)


def _kept(notes: Sequence[Taken], shape: Shape) -> tuple[Taken, ...]:
    return tuple(
        each
        for each in notes
        if (stop := shape[each.string]) is not None and not stop.silent and stop.fret == each.fret
    )


def diagrammed(excerpt: Excerpt) -> Framed:
    """Return `excerpt` with the notes under each diagram on the diagram's strings.

    A diagram reaches to the next one, or to the end. Where a note under it fits none of its strings, the melody is
    someone else's and the diagram alone is what is played, struck once.
    """
    strings = excerpt.instrument.strings
    shapes = {
        onset: symbol.shape
        for onset, symbol in excerpt.symbols
        if symbol.shape is not None and symbol.shape.strings == strings and symbol.shape.sounding
    }
    onsets = sorted(shapes)
    kept = [tone for tone in excerpt.tones if not onsets or tone.onset < onsets[0]]
    said = []
    for number, onset in enumerate(onsets):
        end = onsets[number + 1] if number + 1 < len(onsets) else excerpt.length
        under = [tone for tone in excerpt.tones if onset <= tone.onset < end]
        placed = [_placed(tone, shapes[onset], excerpt) for tone in under]
        fits = [tone for tone in placed if tone is not None]
        if len(fits) == len(under):
            kept += fits
        else:
            said.append(onset)
    words = (f"{len(said)} diagrams do not hold the notes under them: the diagrams are what is played",) if said else ()
    return Framed(replace(excerpt, tones=tuple(kept)), shapes, words)


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
