"""Drills and playing in few words, for the matcher's tests."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from trainer.fretboard.plucked import Stroke
from trainer.fretboard.text import parse_shape
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.measures import HeardChange
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn
from trainer.practice.record import Texture

OPEN = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
"""MIDI note of each open string in standard tuning."""

AM, C, D7, G = "x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "x x 0 2/2 1/1 2/3", "3/2 2/1 0 0 0 3/3"
"""Am to C keeps fingers 1 and 2, C to D7 keeps 1, D7 to G guides 3 (teachers' pivot and guide examples)."""
E, DM = "0 2/2 2/3 1/1 0 0", "x x 0 2/2 3/3 1/1"
BASS_TO_TREBLE = (6, 5, 4, 3, 2, 1)


def step(shape: str, **how: Any) -> Step:
    """Return a step; strokes may be given as {beat: strings}."""
    strokes = how.pop("strokes", None)
    if isinstance(strokes, Mapping):
        how["strokes"] = tuple(Stroke(Fraction(beat), tuple(strings)) for beat, strings in strokes.items())
    return Step(parse_shape(shape), **how)


def drill(*shapes: str | Step, order: Order = Order.RING, texture: Texture = Texture.BLOCK, **more: Any) -> Drill:
    """Return a drill of shapes given as text or as steps."""
    steps = tuple(shape if isinstance(shape, Step) else step(shape, texture=texture) for shape in shapes)
    return Drill("test", steps, order=order, **more)


def frets(shape: str) -> dict[int, int]:
    """Return the MIDI note of each string that `shape` plucks, by string, from the last string on."""
    return {string: OPEN[string] + stop.fret for string, stop in parse_shape(shape) if not stop.silent}


class Playing:
    """Note events put together note by note."""

    def __init__(self, strings: bool = True) -> None:
        self._events: list[NoteEvent] = []
        self._strings = strings

    def note(self, on: float, string: int, pitch: int, off: float | None = None, velocity: int = 80) -> Playing:
        """Add one note; without `off` its end is never told."""
        told = string if self._strings else None
        self._events.append(NoteOn(on, pitch, velocity, told))
        if off is not None:
            self._events.append(NoteOff(off, pitch, told))
        return self

    def bend(self, at: float, string: int, semitones: float) -> Playing:
        """Add a bend."""
        self._events.append(Bend(at, semitones, string))
        return self

    def shape(
        self,
        at: float,
        shape: str,
        off: float | Mapping[int, float] | None = None,
        apart: float = 0.005,
        order: Iterable[int] = BASS_TO_TREBLE,
        without: Iterable[int] = (),
        velocity: int | Mapping[int, int] = 80,
    ) -> Playing:
        """Add every string of `shape`, `apart` seconds from each other in `order`; `off` for all or by string."""
        pitches = frets(shape)
        struck = [string for string in order if string in pitches and string not in set(without)]
        for number, string in enumerate(struck):
            end = off.get(string) if isinstance(off, Mapping) else off
            loud = velocity.get(string, 80) if isinstance(velocity, Mapping) else velocity
            self.note(at + number * apart, string, pitches[string], end, loud)
        return self

    @property
    def events(self) -> list[NoteEvent]:
        """The events in order of time; at one moment ends come first."""
        return sorted(self._events, key=lambda event: (event.at, isinstance(event, NoteOn)))


def steps_of(changes: Iterable[HeardChange]) -> list[tuple[int, int, bool]]:
    """Return (left, reached, landed) of each change."""
    return [(change.before, change.after, change.landed) for change in changes]


FIGURED = {1: [5], 2: [3], 3: [2], 4: [1]}
"""Bass, two inner strings, treble, a beat each."""
BLOCKS = drill(AM, C, D7, step(G, sounding_slide=True), E, DM, "1/1 3/3 3/4 2/2 1/1 1/1")
"""Seven shapes struck together, with kept fingers, a guide that is to be heard, a barre."""
FIGURES = drill(
    *(
        step(shape, strokes=FIGURED, texture=Texture.FIGURE)
        for shape in (AM, C, "x 2/2 1/1 2/3 0 2/4", "x 0 2/2 0 2/3 0")
    )
)
"""Four shapes in an arpeggiated texture."""
