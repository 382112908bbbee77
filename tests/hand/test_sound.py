"""What rings through, what stops and why, what squeaks, and which open strings buy time."""

from __future__ import annotations

import pytest

from tests.fretboard.figures import figure
from tests.hand.building import change, held, stops
from trainer.fretboard.instrument import Instrument
from trainer.hand.sound import fate


def test_kept_notes_and_open_strings_ring_through() -> None:
    done = change("Am", "C")
    assert done.rings == (4, 2, 1)
    assert stops(done) == {5: "restopped", 3: "lifted"}


def test_bass_e_going_to_a_must_be_stopped_by_hand() -> None:
    """Open string 6 rings on under a chord that leaves it out."""
    done = change("E", "A")
    assert stops(done)[6] == "damp"
    assert 6 not in done.rings


def test_bass_a_going_to_e_is_stopped_by_its_new_finger() -> None:
    assert stops(change("A", "E")) == {5: "restopped", 4: "restopped", 3: "restopped", 2: "lifted"}


def test_an_open_string_that_belongs_to_both_shapes_needs_no_damping() -> None:
    assert 6 not in stops(change("Em", "E"))


def test_an_open_string_that_was_not_struck_needs_no_damping() -> None:
    assert 6 in stops(change("E", "A", figure("1:6 2:3")))
    assert 6 not in stops(change("E", "A", figure("1:5 2:3")))


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("x x x 2/1 x x", "x x x 0 x x", "lifted"),
        ("x x x 2/1 x x", "x x x x x x", "lifted"),
        ("x x x 2/1 x x", "x x x 4/1 x x", "restopped"),
        ("x x x 2/1 x x", "x x x 4/3 x x", "restopped"),
        ("x x x 2/1 x x", "x x x (4/3) x x", "restopped"),
        ("x x x 2/1 x x", "x x x 2/2 x x", "restopped"),
        ("x x x 2/1 x x", "x x x 2/1 x x", None),
        ("x x x 2/1 x x", "x x x (2/1) x x", None),
        ("x x x 2/1 x x", "x x x (2/2) x x", None),
        ("x x x 0 x x", "x x x 0 x x", None),
        ("x x x 0 x x", "x x x 2/1 x x", "restopped"),
        ("x x x 0 x x", "x x x (2/1) x x", "restopped"),
        ("x x x 0 x x", "x x x x x x", "damp"),
        # A barre lies across strings that the shape does not play.
        ("x x x 0 x x", "x x 2/1 x 2/1 x", "restopped"),
        ("x x x 2/1 x x", "x x 2/1 x 2/1 x", None),
        ("x x x 2/2 x x", "x x 2/1 x 2/1 x", None),
        ("x x x 2/2 x x", "x x x x x x + 2/1 3-1", None),
        ("x x x 2/2 x x", "x x x x x x + 3/1 3-1, 2/3 5-2", "restopped"),
        ("x x x 4/1 x x", "x x 2/1 x 2/1 x", "restopped"),
        # A barre below the string's own finger leaves it alone.
        ("x x 2/1 4/3 2/1 x", "x x 3/1 4/3 3/1 x", None),
        # Fingers not given: a fret that stays goes on sounding.
        ("x x x 2 x x", "x x x 2 x x", None),
        ("x x x 2 x x", "x x x 2/1 x x", None),
        ("x x x 2/1 x x", "x x x 2 x x", None),
        ("x x x 2 x x", "x x x 3 x x", "restopped"),
        ("x x x 2 x x", "x x x 0 x x", "lifted"),
    ],
)
def test_the_fate_of_string_3(before: str, after: str, why: str | None) -> None:
    done = change(before, after)
    assert stops(done).get(3) == why
    assert (3 in done.rings) == (why is None)


def test_a_muted_string_has_no_fate() -> None:
    with pytest.raises(ValueError, match="string 6 is muted"):
        fate(6, held("Am"), held("C"), None)


def test_a_note_taken_over_rings_through() -> None:
    done = change("Am", "D7", figure("1:5 2:3"), figure("1:4 2:3"))
    assert 3 in done.rings


def test_the_same_place_by_another_finger_stops_where_it_is_struck_again() -> None:
    assert stops(change("Am", "D7"))[3] == "restopped"


def test_only_strings_that_were_struck_can_ring_or_stop() -> None:
    done = change("Am", "C", figure("1:5 2:3"))
    assert set(done.rings) | set(stops(done)) == {5, 3}


def test_a_silent_finger_makes_no_string_ring() -> None:
    assert change("x 0 2/2 2/3 1/1 (3/4)", "x 0 2/2 2/3 1/1 3/4").rings == (5, 4, 3, 2)


def test_sound_is_known_without_fingers() -> None:
    done = change("x32010", "x32000")
    assert done.rings == (5, 4, 3, 1)
    assert stops(done) == {2: "lifted"}


# Squeaks: slides along wound strings; on a nylon-string guitar 4, 5 and 6.


def test_a_guide_squeaks_on_a_wound_string_only() -> None:
    done = change("x 5/1 7/3 6/2 x x", "x 3/1 5/3 4/2 x x")
    assert done.squeaks == (5, 4), "the slide on string 3 is silent"


def test_which_strings_are_wound_belongs_to_the_instrument() -> None:
    steel = Instrument(wound=frozenset({3, 4, 5, 6}))
    assert change("x 5/1 7/3 6/2 x x", "x 3/1 5/3 4/2 x x", instrument=steel).squeaks == (5, 4, 3)
    plain = Instrument(wound=frozenset())
    assert change("x 5/1 7/3 6/2 x x", "x 3/1 5/3 4/2 x x", instrument=plain).squeaks == ()


def test_a_barre_that_slides_squeaks_on_every_wound_string_it_stays_on() -> None:
    assert change("5/1 5/1 5/1 5/1 5/1 5/1", "7/1 7/1 7/1 7/1 7/1 7/1").squeaks == (6, 5, 4)
    assert change("5/1 5/1 5/1 5/1 5/1 5/1", "x 7/1 7/1 7/1 7/1 x").squeaks == (5, 4)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("Am", "C"),
        ("x x 2/2 x x x", "x x 2/2 x x x"),
        ("x x 2/2 x x x", "x 3/2 x x x x"),
        ("x x 2/2 x x x", "x x 0 x x x"),
        ("5/1 5/1 5/1 5/1 5/1 5/1", "5/1 5/1 5/1 0 0 0"),
        ("5/1 5/1 x x x x", "x x x x 7/1 7/1"),
    ],
)
def test_what_does_not_slide_does_not_squeak(before: str, after: str) -> None:
    assert change(before, after).squeaks == ()


# Open strings that buy time for a shift.


def test_an_open_string_that_rings_through_buys_time_for_a_shift() -> None:
    done = change("0 x x 7/1 8/2 x", "0 x x 2/1 3/2 x")
    assert done.shift is not None
    assert done.shift.frets == -5
    assert done.buys_time == (6,)


def test_no_shift_needs_no_time() -> None:
    assert change("Am", "C").buys_time == ()


def test_fretted_notes_buy_none() -> None:
    assert change("x x x 7/1 8/2 x", "x x x 2/1 3/2 x").buys_time == ()


def test_the_last_stroke_of_a_figure_buys_time_even_where_its_string_is_stopped_next() -> None:
    """String 1 is open on the last quaver and stopped in the next shape: the hand moves while it sounds."""
    done = change("x 0 x 7/1 8/2 0", "x 0 x 2/1 x 2/2", figure("1:5 2:3 3:2 4:1"), figure("1:5 2:1"))
    assert done.buys_time == (5, 1)


def test_an_earlier_stroke_on_a_string_that_stops_buys_none() -> None:
    done = change("x 0 x 7/1 8/2 0", "x 0 x 2/1 x 2/2", figure("1:5 2:1 3:3 4:2"), figure("1:5 2:1"))
    assert done.buys_time == (5,)


def test_two_strokes_make_a_figure() -> None:
    done = change("x 0 x 7/1 8/2 0", "x 0 x 2/1 x 2/2", figure("1:5,3 2:1"), figure("1:5 2:1"))
    assert done.buys_time == (5, 1)


def test_in_a_block_only_what_rings_through_buys_time() -> None:
    done = change("x x x 7/1 8/2 0", "x x x 2/1 x 2/2", figure("1:3,2,1"), figure("1:3,1"))
    assert done.buys_time == ()
