"""Pitch and frequency against MIDI's numbering and ISO 16."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import STANDARD
from trainer.fretboard.pitch import frequency, midi, note_name

# Open strings 6 to 1. The numbers are MIDI's (middle C = 60); the frequencies are computed from A4 = 440 Hz.
OPEN_STRINGS = (
    ("E2", 40, 82.407),
    ("A2", 45, 110.000),
    ("D3", 50, 146.832),
    ("G3", 55, 195.998),
    ("B3", 59, 246.942),
    ("E4", 64, 329.628),
)


def test_a4_sounds_at_440_hz() -> None:
    """ISO 16:1975."""
    assert midi("A4") == 69
    assert frequency(midi("A4")) == 440.0


@pytest.mark.parametrize(("name", "number", "hertz"), OPEN_STRINGS)
def test_open_strings(name: str, number: int, hertz: float) -> None:
    assert midi(name) == number
    assert note_name(number) == name
    assert frequency(number) == pytest.approx(hertz, abs=0.0005)


def test_standard_tuning_is_given_low_to_high() -> None:
    assert [name for name, _, _ in OPEN_STRINGS] == list(STANDARD)


@given(st.integers(0, 115))
def test_an_octave_doubles_the_frequency(number: int) -> None:
    assert frequency(number + 12) == pytest.approx(2 * frequency(number))


@given(st.integers(0, 127))
def test_names_and_numbers_are_inverse(number: int) -> None:
    assert midi(note_name(number)) == number


@pytest.mark.parametrize(
    ("name", "number"),
    [
        ("C4", 60),
        ("c4", 60),
        (" C4 ", 60),
        ("C-1", 0),
        ("G9", 127),
        ("F#2", 42),
        ("Gb2", 42),
        ("F♯2", 42),
        ("G♭2", 42),
        # An accidental counts from its own letter, also across the octave's number (MIDI's numbering changes at C).
        ("Cb4", 59),
        ("B#3", 60),
        # A small b is the flat after a letter, and the letter where it stands first.
        ("b3", 59),
        ("bb3", 58),
    ],
)
def test_spellings(name: str, number: int) -> None:
    assert midi(name) == number


@pytest.mark.parametrize("name", ["", "E", "H2", "E22", "E##2", "2E", "E 2", "E٢", "E²", "E2\n2", "Ex2", "\x1b[31mE2"])
def test_what_is_no_note_is_refused_in_one_clean_line(name: str) -> None:
    with pytest.raises(ChangeoverError, match="is no note") as caught:
        midi(name)
    line = str(caught.value)
    assert "as in E2 or Bb3" in line
    assert line.isprintable()


@pytest.mark.parametrize("name", ["Cb-1", "G#9", "A9", "C-2"])
def test_notes_outside_midi_are_refused(name: str) -> None:
    with pytest.raises(ChangeoverError, match="outside MIDI's range"):
        midi(name)
