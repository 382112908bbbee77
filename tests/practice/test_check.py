"""A silent landing checked by slow plucks. Notes of C x 3/3 2/2 0 1/1 0: C3 E3 G3 C4 E4 (tuning plus fret)."""

from __future__ import annotations

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape
from trainer.practice.check import check

C = check(parse_shape("x 3/3 2/2 0 1/1 0"), Instrument())


def test_every_string_in_turn() -> None:
    now = C
    assert "from string 5" in now.words
    for string, pitch in ((5, 48), (4, 52), (3, 55), (2, 60)):
        now = now.pluck(string, pitch)
        assert now.words == f"String {string - 1} next."
    now = now.pluck(1, 64)
    assert now.words == "Every string sounds as it should."
    assert (set(now.right), now.wrong, now.left) == ({1, 2, 3, 4, 5}, (), ())


def test_a_finger_that_does_not_hold_is_named_until_it_does() -> None:
    now = C.pluck(5, 45)
    assert now.words == "String 5 sounds A2, not C3: look at its finger."
    assert now.wrong == (5,)
    assert now.pluck(5, 48).wrong == ()


def test_a_string_that_should_be_silent() -> None:
    assert C.pluck(6, 40).words == "String 6 sounds E2 and should be silent."


def test_the_first_fault_is_told_again_at_the_end() -> None:
    now = C
    for string, pitch in ((5, 48), (4, 51), (3, 55), (2, 60), (1, 64)):
        now = now.pluck(string, pitch)
    assert now.words.startswith("String 4 sounds D#3")


def test_without_strings_a_note_goes_to_one_that_wants_it() -> None:
    # E4 on strings 1 (open) and 2 (fret 5): the same pitch twice.
    twice = check(parse_shape("x x x x 5/1 0"), Instrument())
    now = twice.pluck(None, 64)
    assert len(now.right) == 1
    assert now.pluck(None, 64).left == ()
    assert now.pluck(None, 41).heard == now.heard
