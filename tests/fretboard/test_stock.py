"""The named open shapes: fingerings against LilyPond's, notes against what chord names mean."""

from __future__ import annotations

import pytest

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK, stock_shape
from trainer.fretboard.text import parse_shape, print_shape

# Facts of LilyPond's `predefined-guitar-fretboards.ly`, strings 6 to 1.
LILYPOND = {
    "C": "x 3/3 2/2 0 1/1 0",
    "G7": "3/3 2/2 0 0 0 1/1",
    "D": "x x 0 2/1 3/3 2/2",
    "E": "0 2/2 2/3 1/1 0 0",
    "F": "1/1 3/3 3/4 2/2 1/1 1/1",
}

# Semitones above the root that a chord's name asks for (theory of harmony, no single source), by what follows the root.
INTERVALS = {
    "": {0, 4, 7},
    "m": {0, 3, 7},
    "7": {0, 4, 7, 10},
    "m7": {0, 3, 7, 10},
    "maj7": {0, 4, 7, 11},
    "sus2": {0, 2, 7},
    "sus4": {0, 5, 7},
}
ROOTS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@pytest.mark.parametrize(("name", "text"), LILYPOND.items())
def test_fingerings_agree_with_lilyponds(name: str, text: str) -> None:
    assert stock_shape(name) == parse_shape(text)


@pytest.mark.parametrize("name", STOCK)
def test_every_shape_sounds_its_chord_with_the_root_in_the_bass(name: str) -> None:
    shape, instrument = stock_shape(name), Instrument()
    root = ROOTS[name[0]]
    pitches = [instrument.pitch(string, stop.fret) for string, stop in shape if not stop.silent]
    sounding = {(pitch - root) % 12 for pitch in pitches}
    wanted = INTERVALS[name[1:]]
    # C7 leaves out its fifth, as the open shape does; nothing else may be missing or foreign.
    assert sounding <= wanted
    assert wanted - sounding <= {7}
    assert min(pitches) % 12 == root


@pytest.mark.parametrize("name", STOCK)
def test_every_shape_is_fully_fingered_and_written_in_its_own_text_form(name: str) -> None:
    assert stock_shape(name).fingered
    assert print_shape(stock_shape(name)) == STOCK[name]


def test_an_unknown_name_is_refused_with_the_nearest_one() -> None:
    with pytest.raises(ChangeoverError, match=r"no shape is named 'Cmj7' \(did you mean Cmaj7\? known: A Am "):
        stock_shape("Cmj7")


def test_a_name_near_to_none_gets_the_list() -> None:
    with pytest.raises(ChangeoverError, match=r"no shape is named 'xyzzy' \(known: A Am "):
        stock_shape("xyzzy")
