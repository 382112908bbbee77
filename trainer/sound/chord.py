"""A shape as it should sound: block, rolled or on the beats the drill gives, the melody in front."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import frequency
from trainer.practice.drill import Step
from trainer.practice.record import Texture
from trainer.sound.clicks import Samples
from trainer.sound.pluck import pluck

ROLL_S = 0.035
"""Between two strings of a roll: well beyond the 20 ms or so within which a chord counts as struck together."""
RING_S = 2.5
"""How long the last note rings on."""
_MELODY, _OTHERS = 1.0, 0.5
"""Loudness of the melody and of what goes with it: 6 dB between them (common practice, no source)."""
_PEAK = 0.8
"""The highest sample of the whole."""


def chord(step: Step, instrument: Instrument, tempo: float, rate: int) -> Samples:
    """Return a step as it should sound at `tempo` beats per minute, each string once where it is no figure.

    Without a melody string all sound alike. Silence where nothing of it is plucked.
    """
    notes = [
        (begin, pluck(frequency(instrument.pitch(string, fret)), RING_S, rate, loudness))
        for begin, string, loudness in _strokes(step, tempo)
        if (fret := _fret(step, string)) is not None
    ]
    length = max((round(begin * rate) + len(note) for begin, note in notes), default=0)
    mixed = np.zeros(length, np.float32)
    for begin, note in notes:
        first = round(begin * rate)
        mixed[first : first + len(note)] += note
    peak = float(np.abs(mixed).max(initial=0.0))
    return mixed * np.float32(_PEAK / peak) if peak else mixed


def _strokes(step: Step, tempo: float) -> list[tuple[float, int, float]]:
    """Return (seconds from the beginning, string, loudness) of every note."""
    strokes = step.plucked.strokes
    if step.texture is Texture.FIGURE:
        placed = [(_seconds(stroke.beat, tempo), string) for stroke in strokes for string in stroke.strings]
    else:
        apart = ROLL_S if step.texture is Texture.ROLLED else 0.0
        # Bass first, as a thumb rolls.
        strings = sorted(step.plucked.strings, reverse=True)
        placed = [(number * apart, string) for number, string in enumerate(strings)]
    soft = _MELODY if step.melody is None else _OTHERS
    return [(begin, string, _MELODY if string == step.melody else soft) for begin, string in placed]


def _seconds(beat: Fraction, tempo: float) -> float:
    return float(beat - 1) * 60 / tempo


def _fret(step: Step, string: int) -> int | None:
    stop = step.shape[string]
    return None if stop is None else stop.fret
