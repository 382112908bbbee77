"""The plucked string and the reference chord, measured with an FFT."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import frequency
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.text import parse_shape
from trainer.practice.drill import Step
from trainer.practice.record import Texture
from trainer.sound.chord import RING_S, ROLL_S, chord
from trainer.sound.clicks import Samples
from trainer.sound.pluck import pluck

RATE = 48_000
OPEN_HZ = {6: 82.407, 5: 110.0, 4: 146.832, 3: 195.998, 2: 246.942, 1: 329.628}
"""Open strings of a guitar at A4 = 440 Hz (ISO 16), equal temperament."""


def heard(samples: Samples, near: float, rate: int = RATE) -> float:
    """Return the frequency of the strongest partial within a semitone of `near`, by a padded and windowed FFT."""
    length = 1 << 20
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), length))
    low, high = (int(near * 2**shift * length / rate) for shift in (-1 / 12, 1 / 12))
    peak = low + int(np.argmax(spectrum[low:high]))
    left, middle, right = np.log(spectrum[peak - 1 : peak + 2])
    return float((peak + (left - right) / (2 * (left - 2 * middle + right))) * rate / length)


def cents(found: float, wanted: float) -> float:
    return 1200 * math.log2(found / wanted)


def level(samples: Samples, near: float) -> float:
    """Return how strong the partial near a frequency is, in dB."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 1 << 20))
    low, high = (int(near * 2**shift * (1 << 20) / RATE) for shift in (-1 / 24, 1 / 24))
    return float(20 * np.log10(spectrum[low:high].max()))


@pytest.mark.parametrize("rate", [44_100, 48_000])
@pytest.mark.parametrize("hertz", [*OPEN_HZ.values(), 440.0, 659.255, 987.767])
def test_every_note_is_within_a_cent_of_its_pitch(hertz: float, rate: int) -> None:
    assert cents(heard(pluck(hertz, 2.0, rate), hertz, rate), hertz) == pytest.approx(0, abs=1.0)


@pytest.mark.parametrize("partial", [2, 3, 4])
def test_the_partials_are_in_tune_with_the_note(partial: int) -> None:
    note = pluck(OPEN_HZ[6], 2.0, RATE)
    assert cents(heard(note, partial * OPEN_HZ[6]), partial * OPEN_HZ[6]) == pytest.approx(0, abs=3.0)


def test_a_note_begins_at_once_fades_and_ends_without_a_click() -> None:
    note = pluck(110.0, 2.0, RATE, 0.7)
    assert float(np.abs(note).max()) == pytest.approx(0.7, rel=1e-4)
    assert float(np.abs(note[:1_000]).max()) > 0.3
    loudness = [
        float(np.sqrt(np.mean(note[first : first + RATE // 4] ** 2))) for first in range(0, 2 * RATE, RATE // 4)
    ]
    assert loudness == sorted(loudness, reverse=True)
    assert abs(float(note[-1])) < 1e-6


def test_high_notes_fade_faster_than_low_ones() -> None:
    def left(hertz: float) -> float:
        note = pluck(hertz, 2.0, RATE)
        return float(np.sqrt(np.mean(note[RATE:] ** 2)) / np.sqrt(np.mean(note[: RATE // 4] ** 2)))

    assert left(659.255) < left(329.628) < left(110.0)


def test_a_note_sounds_the_same_each_time_and_too_high_a_one_is_refused() -> None:
    assert np.array_equal(pluck(220.0, 0.5, RATE), pluck(220.0, 0.5, RATE))
    with pytest.raises(ValueError, match="too high"):
        pluck(6_000, 1.0, RATE)


# The chord

AM = parse_shape("x 0 2/2 2/3 1/1 0")
AM_HZ = {5: 110.0, 4: 164.814, 3: 220.0, 2: 261.626, 1: 329.628}


def sounding(step: Step, **other: float) -> Samples:
    return chord(step, Instrument(), other.get("tempo", 60.0), RATE)


def test_a_block_chord_has_every_note_of_the_shape_in_tune() -> None:
    sound = sounding(Step(AM))
    assert float(np.abs(sound).max()) == pytest.approx(0.8, rel=1e-4)
    for hertz in AM_HZ.values():
        assert cents(heard(sound, hertz), hertz) == pytest.approx(0, abs=3.0)
    # What it does not have is far below: E2, the string that is not played.
    assert level(sound, OPEN_HZ[6]) < level(sound, 110.0) - 30


def test_a_capo_and_another_tuning_are_heard() -> None:
    sound = chord(Step(parse_shape("x x x x x 0")), Instrument.tuned("D2 A2 D3 G3 B3 D4", capo=2), 60.0, RATE)
    assert cents(heard(sound, 329.628), 329.628) == pytest.approx(0, abs=1.0)  # D4 two frets up


def test_the_melody_is_in_front() -> None:
    plain, led = sounding(Step(AM)), sounding(Step(AM, melody=2))
    ahead = {string: level(led, hertz) - level(plain, hertz) for string, hertz in AM_HZ.items() if string in {2, 4}}
    assert ahead[2] - ahead[4] == pytest.approx(6.0, abs=0.5)


def begins(sound: Samples, hertz: float) -> float:
    """Return the second by which a partial has risen to a quarter of its height, by demodulating it."""
    seconds = np.arange(len(sound)) / RATE
    mixed = sound * np.exp(-2j * np.pi * hertz * seconds)
    width = RATE // 60
    height = np.abs(np.convolve(mixed, np.ones(width) / width, mode="same"))[: RATE * 2]
    return float(np.argmax(height > height.max() / 4) / RATE)


def joins_in(sound: Samples, hertz: float) -> int:
    """Return the frame in which something joins a note that sounds from the beginning: until then it is that note."""
    alone = pluck(hertz, RING_S, RATE)
    scale = float(sound[:1_000] @ alone[:1_000] / (alone[:1_000] @ alone[:1_000]))
    return int(np.argmax(np.abs(sound[: len(alone)] - scale * alone) > 1e-4))


def test_a_roll_goes_from_the_bass_up() -> None:
    step = Step(parse_shape("0 x x x x 0"), texture=Texture.ROLLED)
    # A note may begin with a sample near nought, so a frame or two later.
    assert joins_in(sounding(step), frequency(40)) == pytest.approx(ROLL_S * RATE, abs=3)


def test_a_figure_follows_its_beats_at_the_tempo() -> None:
    strokes = (Stroke(Fraction(1), (6,)), Stroke(Fraction(5, 2), (1,)))
    step = Step(parse_shape("0 x x x x 0"), texture=Texture.FIGURE, strokes=strokes)
    # A beat and a half at 120 is three quarters of a second.
    assert joins_in(sounding(step, tempo=120.0), frequency(40)) == pytest.approx(0.75 * RATE, abs=3)


def test_a_shape_that_is_not_plucked_is_silence() -> None:
    assert len(sounding(Step(parse_shape("(3/3) x x x x x")))) == 0
