"""When the strings of a shape are plucked, and how long each note is meant to last.

Beats are counted within the shape from 1, so a shape of four beats ends at beat 5.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

BASS, INNER, MELODY = "bass", "inner", "melody"
"""The voices that a shape's notes are parted into."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Strings plucked at one moment."""

    beat: Fraction
    """1 is the shape's first beat; 3/2 half a beat later."""
    strings: tuple[int, ...]
    """The strings plucked, as written."""
    right_hand: tuple[str | None, ...] = ()
    """p, i, m or a for each string, None where not said; empty where none is said."""


@dataclass(frozen=True, slots=True)
class Plucked:
    """The strokes of one shape."""

    beats: Fraction
    """How long the shape lasts."""
    strokes: tuple[Stroke, ...]
    """In order of time; at least one."""
    melody: int | None = None
    """The string that carries the melody."""

    @property
    def strings(self) -> frozenset[int]:
        """Every string that is plucked at least once."""
        return frozenset(string for stroke in self.strokes for string in stroke.strings)

    @property
    def end(self) -> Fraction:
        """The beat at which the shape is over."""
        return self.beats + 1

    def first(self, string: int) -> Fraction | None:
        """Return the beat at which `string` is first plucked, None where it never is."""
        return next((stroke.beat for stroke in self.strokes if string in stroke.strings), None)

    def last(self, string: int) -> Fraction | None:
        """Return the beat at which `string` is last plucked, None where it never is."""
        return next((stroke.beat for stroke in reversed(self.strokes) if string in stroke.strings), None)

    def until(self, string: int, beat: Fraction) -> Fraction:
        """Return the beat at which `string` is next plucked after `beat`, or else the shape is over."""
        later = (stroke.beat for stroke in self.strokes if stroke.beat > beat and string in stroke.strings)
        return next(later, self.end)

    def voice(self, string: int) -> str:
        """Return the voice of `string`: the melody as the drill says, the bass by the thumb, else inner.

        Where no right-hand finger is given, the bass is the lowest string of the first stroke.
        """
        if string == self.melody:
            return MELODY
        if any(stroke.right_hand for stroke in self.strokes):
            thumbed = {
                plucked
                for stroke in self.strokes
                for plucked, finger in zip(stroke.strings, stroke.right_hand, strict=False)
                if finger == "p"
            }
            return BASS if string in thumbed else INNER
        return BASS if string == max(self.strokes[0].strings) else INNER

    def free(self, string: int) -> Fraction | None:
        """Return the beat from which the last note on `string` need no longer sound; None where it has none.

        A note of the melody or the bass lasts until its own voice strikes again, an inner note until any later
        stroke; the last of each until the shape is over.
        """
        last = self.last(string)
        if last is None:
            return None
        voice = self.voice(string)
        later = (
            stroke.beat
            for stroke in self.strokes
            if stroke.beat > last and (voice == INNER or any(self.voice(other) == voice for other in stroke.strings))
        )
        return next(later, self.end)
