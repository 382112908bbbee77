"""Pitch: note names, MIDI note numbers and frequencies."""

from __future__ import annotations

import re
from types import MappingProxyType

from trainer.errors import wrong

A4 = 69
"""MIDI note number of the A above middle C."""
A4_HZ = 440.0
"""Its frequency (ISO 16:1975)."""

_SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
LETTERS = MappingProxyType({"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11})
"""Semitones of each letter above C."""
_ACCIDENTALS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE = re.compile(r"([A-Ga-g])([#♯b♭]?)(-?\d)", re.ASCII)


def midi(name: str) -> int:
    """Return the MIDI note number of a note name with octave: `E2` is 40, `C4` is 60 (middle C).

    Raises ChangeoverError where the name is no note, or the note is outside MIDI's 0 to 127.
    """
    match = _NOTE.fullmatch(name.strip())
    if match is None:
        raise wrong(f"'{name}' is no note", hint="write a letter, # or b, and an octave, as in E2 or Bb3")
    letter, accidental, octave = match.groups()
    number = 12 * (int(octave) + 1) + LETTERS[letter.upper()] + _ACCIDENTALS[accidental]
    if not 0 <= number <= 127:
        raise wrong(f"'{name}' lies outside MIDI's range", hint="from C-1 to G9")
    return number


def note_name(number: int) -> str:
    """Return the name with octave of a MIDI note number, sharps for the black keys: 40 is `E2`."""
    return f"{_SHARPS[number % 12]}{number // 12 - 1}"


def frequency(number: float) -> float:
    """Return the frequency in Hz of a MIDI note number in equal temperament at A4 = 440 Hz."""
    return float(A4_HZ * 2 ** ((number - A4) / 12))
