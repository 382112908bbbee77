"""Changes in one sentence, word for word, as a player reads them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.fretboard.figures import figure
from tests.hand.building import change
from trainer.fretboard.instrument import Instrument
from trainer.hand.words import beat_text, describe, roman


@pytest.mark.parametrize(
    ("before", "after", "sentence"),
    [
        ("Am", "C", "1 and 2 stay; 3 crosses from string 3 to string 5 at fret 3"),
        (
            "Em",
            "Am",
            "2 stays; 1 crosses from string 5 to string 2 at fret 1; 3 comes down on string 3 at fret 2; damp string 6",
        ),
        (
            "D7",
            "G",
            "3 slides up string 1 from 2 to 3; 1 crosses from string 2 to string 5 at fret 2; "
            "2 crosses from string 3 to string 6 at fret 3; hand shifts up from I to II",
        ),
        (
            "C",
            "F",
            "3 stays; 1 stays and lays the barre over strings 6 to 1; 2 crosses from string 4 to string 3 at fret 2; "
            "4 comes down on string 4 at fret 3",
        ),
        (
            "F",
            "C",
            "3 stays; barre off, 1 stays on string 2 at fret 1; 2 crosses from string 3 to string 4 at fret 2; "
            "4 comes off",
        ),
        (
            "F",
            "D",
            "barre off; 1 crosses from string 6 to string 3 at fret 2; 2 crosses from string 3 to string 1 at fret 2; "
            "3 crosses from string 5 to string 2 at fret 3; 4 comes off; hand shifts up from I to II",
        ),
        (
            "x x x 9/3 7/1 x",
            "x x x 7/3 5/1 x",
            "1 and 3 slide down 2 frets together; hand shifts down from VII to V",
        ),
        (
            "x x 1/1 2/2 0 2/3",
            "x x 2/1 0 0 3/3",
            "1 and 3 slide up one fret together; 2 comes off; hand shifts up from I to II",
        ),
        (
            "x 5/1 6/2 7/3 8/4 x",
            "4/1 x 6/2 7/3 8/4 x",
            "2, 3 and 4 stay; 1 crosses from string 5 to string 6 at fret 4 (reaching back)",
        ),
        (
            "x 4/1 6/2 7/3 8/4 x",
            "x 4/1 6/2 7/3 10/4 x",
            "4 slides up string 2 from 8 to 10 (reaching forward); 1 (reaching back), 2 and 3 stay",
        ),
        ("C", "0 0 0 0 0 0", "1, 2 and 3 come off"),
        (
            "0 0 0 0 0 0",
            "F",
            "barre on by 1 at I; 2 comes down on string 3 at fret 2; 3 comes down on string 5 at "
            "fret 3; 4 comes down on string 4 at fret 3",
        ),
        (
            "0 x x 7/1 8/2 0",
            "0 x x 2/1 3/2 0",
            "1 and 2 slide down 5 frets together; hand shifts down from VII to II; open strings 6 and 1 buy the time",
        ),
        ("x 0 x x 2/2 x", "x 0 x x x 0", "2 comes off"),
        ("0 0 0 x x x", "x x x 2/2 x x", "2 comes down on string 3 at fret 2; damp strings 6, 5 and 4"),
        ("x02210", "xx0232", "not every finger is given; damp string 5"),
        (
            "x 3/3 2 0 1/1 0",
            "x 5/3 2 0 1/1 0",
            "3 slides up string 5 from 3 to 5 (reaching forward); 1 stays; not every finger is given",
        ),
        ("0 0 0 0 0 0", "0 0 0 0 0 0", "nothing moves"),
    ],
)
def test_fingers_frame_and_sound(before: str, after: str, sentence: str) -> None:
    assert describe(change(before, after)) == sentence


@pytest.mark.parametrize(
    ("before", "after", "sentence"),
    [
        ("x x x x 0 0", "x x x x 5/1 5/1", "half barre on by 1 at V, strings 2 to 1"),
        ("x x x x 5/1 5/1", "x x x x 0 0", "half barre off"),
        ("x x x 5/1 6/2 5/1", "x x x 5/1 5/1 5/1", "1 keeps the barre at V; 2 comes off"),
        (
            "F",
            "3/1 5/3 5/4 4/2 3/1 3/1",
            "2, 3 and 4 slide up 2 frets together; barre slides up from I to III; hand shifts up from I to III",
        ),
        (
            "x 3/1 3/1 3/1 x x",
            "x x 1/1 1/1 x x",
            "half barre slides down from III to I, now strings 4 to 3; hand shifts down from III to I",
        ),
        ("5/1 5/1 5/1 5/1 5/1 5/1", "x x x 5/1 5/1 5/1", "barre hinges at V to free strings 6, 5 and 4"),
        ("x x x 5/1 5/1 5/1", "x x 5/1 5/1 5/1 5/1", "half barre hinges at V to cover string 4"),
        ("5/1 5/1 5/1 5/1 5/1 5/1", "x 5/1 5/1 5/1 5/1 x", "barre stays at V, now strings 5 to 2"),
        (
            "x 2/1 4/3 4/3 4/3 2/1",
            "x 2/1 0 0 0 x",
            "half barre by 1 off, 1 stays on string 5 at fret 2; half barre by 3 off",
        ),
        (
            "x x x x 1/1 0",
            "x x x x 3/1 3/1",
            "1 slides up string 2 from 1 to 3; half barre on by 1 at III, strings 2 to 1; hand shifts up from I to III",
        ),
        (
            "x x x x 3/1 3/1",
            "x x x x 1/1 0",
            "1 slides down string 2 from 3 to 1; half barre off; hand shifts down from III to I",
        ),
        (
            "1/1 1/1 x x x x",
            "x x x x 3/1 3/1",
            "half barre off; half barre on by 1 at III, strings 2 to 1; hand shifts up from I to III",
        ),
        (
            "2/1 x x x x x",
            "x x x 2/1 2/1 2/1",
            "half barre on by 1 at II, strings 3 to 1",
        ),
    ],
)
def test_barres(before: str, after: str, sentence: str) -> None:
    assert describe(change(before, after)) == sentence


def test_a_full_barre_is_full_on_its_own_instrument() -> None:
    four = Instrument.tuned("D3 G3 B3 E4")
    assert describe(change("0 0 0 0", "2/1 2/1 2/1 2/1", instrument=four)) == "barre on by 1 at II"


def test_a_note_taken_over() -> None:
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4 2:3"))
    assert describe(done) == (
        "1 stays; 2 takes over string 3 at fret 2 while it sounds; 3 crosses from string 3 to string 1 at fret 2; "
        "damp string 5"
    )


def test_how_long_fingers_may_stay() -> None:
    """C: string 2 ends at beat 4, string 4 is never struck, the bass lasts to the end and is not mentioned."""
    played = figure("1:5p 2:3i 3:2m 4:1a")
    done = change("C", "G7", played)
    assert describe(done).count("may") == 0
    assert describe(done, played).split("; ")[-2:] == ["2 may leave at once", "1 may stay until beat 4"]


def test_a_finger_may_stay_for_a_single_beat() -> None:
    played = figure("1:5p,2i 2:3m")
    assert describe(change("C", "G7", played), played).split("; ")[-2:] == [
        "2 may leave at once",
        "1 may stay until beat 2",
    ]


def test_fingers_that_are_free_together_are_said_together() -> None:
    played = figure("1:5p 2:2i,4m 7/2:3i")
    assert describe(change("C", "G7", played), played).split("; ")[-1] == "1 and 2 may stay until beat 3½"


def test_a_shift_of_one_fret_needs_no_word_on_what_buys_its_time() -> None:
    done = change("x x 0 2/1 x x", "x x 0 3/1 x x")
    assert done.buys_time == (4,)
    assert "buys" not in describe(done)
    further = change("x x 0 2/1 x x", "x x 0 4/1 x x")
    assert describe(further).endswith("; open string 4 buys the time")


@pytest.mark.parametrize(
    ("fret", "numeral"),
    [
        (1, "I"),
        (2, "II"),
        (3, "III"),
        (4, "IV"),
        (5, "V"),
        (6, "VI"),
        (7, "VII"),
        (8, "VIII"),
        (9, "IX"),
        (10, "X"),
        (11, "XI"),
        (12, "XII"),
        (14, "XIV"),
        (19, "XIX"),
        (24, "XXIV"),
        (36, "XXXVI"),
    ],
)
def test_roman_numerals(fret: int, numeral: str) -> None:
    assert roman(fret) == numeral


@pytest.mark.parametrize(
    ("beat", "text"),
    [("1", "1"), ("3", "3"), ("5/2", "2½"), ("5/4", "1¼"), ("19/4", "4¾"), ("7/3", "7/3"), ("13/8", "13/8")],
)
def test_beats_as_players_say_them(beat: str, text: str) -> None:
    assert beat_text(Fraction(beat)) == text
