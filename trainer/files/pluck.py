"""The text form of beats, meters and strokes in drill files. Parse and print are each other's inverse.

Strokes: `1: 5p, 2: 3i 2m, 3.5: 1a` is the beat, then the strings plucked on it, each with the right-hand finger
that plucks it where that is said. Beats count within the shape from 1, as a number (`3.5`) or a fraction (`4/3`).
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

from trainer.errors import wrong
from trainer.fretboard.plucked import Stroke
from trainer.practice.drill import FINEST

RIGHT_HAND = "pima"
"""Thumb, index, middle and ring finger of the plucking hand."""

_NUMBER = re.compile(r"(\d{1,5})(?:\.(\d{1,6})|/(\d{1,3}))?", re.ASCII)
_METER = re.compile(r"(\d{1,2})\s*/\s*(\d{1,2})", re.ASCII)
_PLUCKED = re.compile(rf"(\d{{1,2}})([{RIGHT_HAND}]?)", re.ASCII)
_NOTE_VALUES = (1, 2, 4, 8, 16, 32)
_HINT = "beat, colon, strings: 1: 5p, 2: 3i 2m, 3.5: 1a"


def parse_beat(text: str) -> Fraction:
    """Return the number of beats that `text` says. Raises ChangeoverError where it is none."""
    word = text.strip()
    if _NUMBER.fullmatch(word) is None or word.endswith(("/0", "/00", "/000")):
        raise wrong(f"'{word}' is no number of beats", hint="a number as 3.5 or a fraction as 4/3")
    beat = Fraction(word)
    if beat.denominator > FINEST:
        raise wrong(f"{word} beats cannot be counted", hint=f"did you mean {beat.limit_denominator(12)}?")
    return beat


def print_beat(beat: Fraction) -> str:
    """Return the text form of a number of beats: `3`, `3.5` where it ends soon after the point, `4/3` where not."""
    decimal = f"{float(beat):.3f}".rstrip("0").rstrip(".")
    return decimal if Fraction(decimal) == beat else f"{beat.numerator}/{beat.denominator}"


def parse_meter(text: str) -> tuple[int, int]:
    """Return beats in a bar and the note value of a beat. Raises ChangeoverError where `text` is no meter."""
    match = _METER.fullmatch(text.strip())
    beats, value = (int(part) for part in match.groups()) if match else (0, 0)
    if beats == 0 or value not in _NOTE_VALUES:
        raise wrong(f"'{text.strip()}' is no meter", hint="beats in a bar / note value, as 4/4, 3/4 or 6/8")
    return beats, value


def parse_strokes(text: str) -> tuple[Stroke, ...]:
    """Return the strokes that `text` says. Raises ChangeoverError where it cannot be read or goes back in time."""
    strokes = tuple(_parse_stroke(part) for part in text.split(","))
    for earlier, later in pairwise(strokes):
        if later.beat <= earlier.beat:
            raise wrong(
                f"beat {print_beat(later.beat)} comes after beat {print_beat(earlier.beat)}",
                hint="write the strokes in order, strings of one beat together",
            )
    return strokes


def print_strokes(strokes: tuple[Stroke, ...]) -> str:
    """Return the text form of `strokes`."""
    return ", ".join(_print_stroke(stroke) for stroke in strokes)


def _parse_stroke(text: str) -> Stroke:
    beat, colon, strings = text.partition(":")
    words = strings.split()
    if not colon or not words:
        raise wrong(f"'{text.strip()}' is no stroke", hint=_HINT)
    plucked = [_parse_plucked(word) for word in words]
    numbers = tuple(string for string, _ in plucked)
    for string in numbers:
        if numbers.count(string) > 1:
            raise wrong(f"string {string} is plucked twice on beat {beat.strip()}", hint="name it once")
    fingers = tuple(finger for _, finger in plucked)
    return Stroke(parse_beat(beat), numbers, fingers if any(fingers) else ())


def _parse_plucked(word: str) -> tuple[int, str | None]:
    match = _PLUCKED.fullmatch(word)
    if match is None:
        raise wrong(f"'{word}' is no plucked string", hint=f"a string's number and one of {', '.join(RIGHT_HAND)}")
    return int(match[1]), match[2] or None


def _print_stroke(stroke: Stroke) -> str:
    fingers = stroke.right_hand or (None,) * len(stroke.strings)
    plucked = (f"{string}{finger or ''}" for string, finger in zip(stroke.strings, fingers, strict=True))
    return f"{print_beat(stroke.beat)}: {' '.join(plucked)}"
