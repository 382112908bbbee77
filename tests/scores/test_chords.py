"""Chord names against music21, which finds the kind of a chord by tables of its own."""

from __future__ import annotations

import warnings

import pytest

from tests.scores.reference import library
from trainer.scores.chords import KINDS, chord_name

ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
OURS_TO_MUSIC21 = {"m(maj7)": "mM7", "m7b5": "ø7", "dim7": "o7", "dim": "dim", "aug": "+", "maj9": "M9"}
"""music21's spelling of a suffix where it is another."""


@pytest.mark.parametrize("suffix", KINDS)
@pytest.mark.parametrize("root", range(12))
def test_a_kind_holds_the_notes_that_music21_gives_it(suffix: str, root: int) -> None:
    name = f"{ROOTS[root].replace('b', '-')}{OURS_TO_MUSIC21.get(suffix, suffix)}"
    if "add9" in suffix:
        name = f"{ROOTS[root].replace('b', '-')}{'m' if suffix.startswith('m') else ''}add9"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = {pitch.midi % 12 for pitch in library().harmony.ChordSymbol(name).pitches}
    assert {(root + step) % 12 for step in KINDS[suffix]} == theirs


@pytest.mark.parametrize(
    ("pitches", "name"),
    [
        ((48, 52, 55, 60, 64), "C"),
        ((43, 47, 50, 55, 59, 65), "G7"),
        ((45, 52, 57, 60, 64), "Am"),
        ((50, 57, 60, 65), "Dm7"),
        ((47, 50, 55, 62, 67), "G/B"),
        ((41, 45, 48, 52), "Fmaj7"),
        ((47, 51, 57), "B7"),
        ((40, 45, 50), "Asus4/E"),
        ((45, 52), ""),
        ((40, 41, 42, 43), ""),
    ],
)
def test_names_of_chords_as_they_lie(pitches: tuple[int, ...], name: str) -> None:
    """Common practice, no source: the root lowest where it can be, the fifth left out of a seventh chord."""
    assert chord_name(pitches) == name
