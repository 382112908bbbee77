"""A drill: a passage of shapes, how each is played, and the changes between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked, Stroke
from trainer.fretboard.shape import Shape
from trainer.fretboard.text import parse_shape, print_barres, print_shape
from trainer.practice.record import Texture

FORMAT = 1
"""Number of the drill file format this program writes and the highest it reads."""

FINEST = 64
"""Its beats are cut into at most so many parts: a finer one is a slip of the pen."""
MOST_BEATS = 999
"""No shape of it lasts longer."""
SLOWEST, FASTEST = 10.0, 400.0
"""Limits of its tempo in beats per minute; what is played keeps to those of `practice.tempo`."""

SKILLS = {
    "kept fingers": "fingers that stay down across the change",
    "guide": "a finger that slides along its string to the next shape",
    "cross": "a finger that moves to another string",
    "full barre": "one finger across all strings",
    "half barre": "one finger across some strings",
    "hinge": "a barre that opens or closes while one end holds",
    "shift": "the hand moves along the neck",
    "open string": "an open string that buys time for the change",
    "extension": "a finger reaches out of the hand's frame",
    "contraction": "fingers closer than one to a fret",
    "tuning": "a string tuned away from the usual",
    "voices": "bass, inner voices and melody on their own beats",
    "fingering": "one passage, two fingerings to compare",
    "independence": "one finger moves while others hold",
    "warm-up": "gentle, before practice",
    "first year": "for a group of beginners",
}
"""What a drill can train, with what that means."""


class Order(StrEnum):
    """How a drill's changes follow each other."""

    RING = "ring"
    """First to last, then back to the first."""
    ONCE = "once"
    """First to last, then start again; the way back is no change."""


@dataclass(frozen=True, slots=True)
class Step:
    """One shape of a passage and how it is played."""

    shape: Shape
    """What the fretting hand holds."""
    label: str = ""
    """A short name to show, such as Am; may be empty."""
    beats: Fraction = Fraction(4)
    """How long it lasts."""
    strokes: tuple[Stroke, ...] = ()
    """When its strings are plucked; empty: every sounding string on its first beat."""
    texture: Texture = Texture.BLOCK
    """How it is struck."""
    melody: int | None = None
    """The string that carries the melody."""
    sounding_slide: bool = False
    """True where a guide finger is to be heard sliding into this shape."""
    note: str = ""
    """A word to the player."""

    @property
    def name(self) -> str:
        """What to call it: its label, or its text form where it has none."""
        return self.label or print_shape(self.shape)

    @property
    def plucked(self) -> Plucked:
        """Its strokes, the default one filled in."""
        strokes = self.strokes or (Stroke(Fraction(1), self.shape.sounding),)
        return Plucked(self.beats, strokes, self.melody)


@dataclass(frozen=True, slots=True)
class Segment:
    """A named run of a drill's shapes."""

    name: str
    """Short, shown to the player."""
    first: int
    """Number of its first shape, counted from 1."""
    last: int
    """Number of its last shape, included."""


@dataclass(frozen=True, slots=True)
class Drill:
    """A passage of shapes to practise."""

    title: str
    """Shown to the player."""
    steps: tuple[Step, ...]
    """At least two."""
    about: str = ""
    """One sentence on what it is for."""
    trains: tuple[str, ...] = ()
    """Keys of `SKILLS`."""
    instrument: Instrument = field(default_factory=Instrument)
    """Tuning, capo and geometry it is written for."""
    meter: tuple[int, int] = (4, 4)
    """Beats in a bar, and the note value of one beat."""
    tempo: float = 60.0
    """Beats per minute to begin with."""
    order: Order = Order.RING
    """How its changes follow each other."""
    segments: tuple[Segment, ...] = ()
    """Parts to practise alone."""
    credits: str = ""
    """Who made it."""
    caution: str = ""
    """What to mind, where it stretches."""

    @property
    def lengths(self) -> tuple[Fraction, ...]:
        """How many beats each of its shapes lasts."""
        return tuple(step.beats for step in self.steps)

    @property
    def beat(self) -> Fraction:
        """How long a beat lasts, in quarter notes."""
        return Fraction(4, self.meter[1])

    @property
    def onsets(self) -> tuple[Fraction, ...]:
        """When each of its shapes begins and, last, when it is over, in quarter notes from the start."""
        return tuple(accumulate((length * self.beat for length in self.lengths), initial=Fraction(0)))

    @property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Each change as (index of the shape left, index of the shape reached), in order."""
        count = len(self.steps)
        pairs = [(index, index + 1) for index in range(count - 1)]
        if self.order is Order.RING and count > 1:
            pairs.append((count - 1, 0))
        return tuple(pairs)

    @property
    def changes(self) -> Iterator[tuple[Step, Step]]:
        """Yield each change as the step left and the step reached, in order."""
        return ((self.steps[before], self.steps[after]) for before, after in self.pairs)


def change_key(instrument: Instrument, before: Shape, after: Shape) -> str:
    """Return what identifies a change in the log: tuning, capo and both shapes with fingers.

    The same change in two drills has the same key, whatever the drills are called.
    """
    tuning = " ".join(instrument.tuning_names)
    return " | ".join((tuning, str(instrument.capo), _full_text(before), _full_text(after)))


def read_change_key(key: str) -> tuple[Instrument, tuple[Shape, Shape]]:
    """Return the instrument, its measures the usual ones, and both shapes of a change's key.

    Raises ChangeoverError or ValueError where it is none.
    """
    tuning, capo, before, after = key.split(" | ")
    return Instrument.tuned(tuning, int(capo)), (_shape(before), _shape(after))


@lru_cache(maxsize=1024)
def _shape(text: str) -> Shape:
    stops, _, barres = text.partition(" + ")
    return parse_shape(stops, barres)


def _full_text(shape: Shape) -> str:
    barres = print_barres(shape)
    return f"{print_shape(shape)} + {barres}" if barres else print_shape(shape)
