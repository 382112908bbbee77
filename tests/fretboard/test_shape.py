"""What a shape holds, and what it refuses to be."""

from __future__ import annotations

import pytest

from trainer.errors import ChangeoverError
from trainer.fretboard.shape import Barre, Placing, Shape, Stop
from trainer.fretboard.text import parse_shape

F = parse_shape("1/1 3/3 3/4 2/2 1/1 1/1")


def test_strings_are_counted_from_the_one_nearest_the_floor() -> None:
    shape = parse_shape("x 3/3 2/2 0 1/1 0")
    assert shape.strings == 6
    assert shape[6] is None
    assert shape[5] == Stop(3, 3)
    assert shape[1] == Stop(0)
    assert [string for string, _ in shape] == [5, 4, 3, 2, 1], "muted strings are left out"


def test_a_finger_is_where_it_is_written() -> None:
    assert parse_shape("x 3/3 2/2 0 1/1 0").placings == {
        1: Placing(1, 1, 2, range(2, 3)),
        2: Placing(2, 2, 4, range(4, 5)),
        3: Placing(3, 3, 5, range(5, 6)),
    }


def test_one_finger_at_one_fret_on_several_strings_is_a_barre_over_what_lies_between() -> None:
    (barre,) = F.barres
    assert barre == Barre(finger=1, fret=1, low_string=6, high_string=1)
    assert list(barre.strings) == [1, 2, 3, 4, 5, 6]
    assert barre.width == 6
    assert F.is_full(barre)


def test_a_half_barre_lies_across_fewer_strings_than_all() -> None:
    shape = parse_shape("x x 0 2/2 1/1 1/1")
    assert shape.barres == (Barre(1, 1, 2, 1),)
    assert not shape.is_full(shape.barres[0])


def test_full_is_said_of_all_strings_of_the_instrument() -> None:
    shape = parse_shape("2/1 2/1 2/1 2/1")
    assert shape.is_full(shape.barres[0])


def test_a_declared_barre_reaches_further_than_it_is_written() -> None:
    """Barre I over all six strings while only string 1 shows it: 3 and 4 hide the rest."""
    shape = parse_shape("3/3 3/4 2/2 x x 1/1", "1/1 6-1")
    assert shape.barres == (Barre(1, 1, 6, 1),)
    assert shape.placings[1].anchor == 1, "the lowest string that sounds by finger 1"
    assert list(shape.placings[1].strings) == [1, 2, 3, 4, 5, 6]


def test_a_declared_barre_never_reaches_less_far_than_it_is_written() -> None:
    shape = parse_shape("1/1 3/3 3/4 2/2 1/1 1/1", "1/1 2-1")
    assert shape.barres == (Barre(1, 1, 6, 1),)


def test_a_barre_that_is_only_declared_counts_by_its_bass_end() -> None:
    shape = parse_shape("x 3/3 3/4 2/2 x x", "1/1 5-1")
    assert shape.placings[1] == Placing(1, 1, 5, range(1, 6))


def test_two_barres_at_once() -> None:
    shape = parse_shape("x 1/1 3/3 3/3 3/3 1/1")
    assert shape.barres == (Barre(1, 1, 5, 1), Barre(3, 3, 4, 2))


def test_a_finger_counts_by_the_lowest_string_that_sounds_by_it() -> None:
    assert F.placings[1].anchor == 6
    assert parse_shape("(1/1) x x x 1/1 1/1").placings[1].anchor == 2, "string 6 is held but silent"
    assert parse_shape("x (1/1) x x (1/1) x").placings[1].anchor == 5, "all of it is silent"
    assert F.placings[1].place == (6, 1)


def test_where_nothing_sounds_a_finger_counts_by_the_lowest_string_written() -> None:
    assert parse_shape("x x x (5/1) (5/1) x", "5/1 6-1").placings[1].anchor == 3


def test_a_silent_finger_is_placed_but_does_not_sound() -> None:
    shape = parse_shape("x 0 2/2 2/3 1/1 (3/4)")
    assert shape.placings[4].place == (1, 3)
    assert shape.sounding == (5, 4, 3, 2)


def test_frets_are_those_that_fingers_hold() -> None:
    assert parse_shape("x 3/3 2/2 0 1/1 0").frets == (1, 2, 3)
    assert parse_shape("0 0 0 0 0 0").frets == ()
    assert parse_shape("x 3 x x x x", "2/1 5-1").frets == (2, 3)


def test_fingered_is_said_of_every_stopped_string() -> None:
    assert F.fingered
    assert parse_shape("0 0 0 0 0 0").fingered, "open strings need no finger"
    assert not parse_shape("x32010").fingered
    assert not parse_shape("x 3/3 2 0 1/1 0").fingered


def test_shapes_are_values() -> None:
    assert parse_shape("x32010") == parse_shape("x 3 2 0 1 0")
    assert hash(parse_shape("x32010")) == hash(parse_shape("x 3 2 0 1 0"))
    assert parse_shape("x32010") != parse_shape("x 3/3 2 0 1 0")
    assert parse_shape("1/1 x x x x x") != parse_shape("1/1 x x x x x", "1/1 6-1")


def test_a_shape_may_stop_a_string_at_its_barres_fret_or_above() -> None:
    assert parse_shape("2/1 2/2 4/3 x 2 2/1").barres == (Barre(1, 2, 6, 1),)


@pytest.mark.parametrize(
    ("text", "barres", "line"),
    [
        (
            "x 3/3 2/2 0 1/1 37/4",
            "",
            "string 1 at fret 37 (frets go from 0 (open) to 36)",
        ),
        (
            "x 3/3 2/5 0 1/1 0",
            "",
            "string 4 by finger 5 (fingers go from 1 (index) to 4 (little finger))",
        ),
        (
            "x 3/0 2/2 0 1/1 0",
            "",
            "string 5 by finger 0 (fingers go from 1 (index) to 4 (little finger))",
        ),
        (
            "x 3/3 2/2 0/1 1/1 0",
            "",
            "string 3 is open and held at once (an open string has no finger: write 0)",
        ),
        (
            "x 3/3 2/2 (0) 1/1 0",
            "",
            "string 3 is open and held at once (an open string has no finger: write 0)",
        ),
        (
            "x 3/3 2/2 0 1/1 2/1",
            "",
            "finger 1 is at fret 1 and, on string 1, at fret 2 (one finger holds one fret)",
        ),
        (
            "x 3/3 2/2 0 1/1 x",
            "2/1 3-1",
            "finger 1 is at fret 2 and, on string 2, at fret 1 (one finger holds one fret)",
        ),
        (
            "2/1 0 x x x 2/1",
            "",
            "string 5 is open under finger 1, which lies across strings 6 to 1 at fret 2 "
            "(it could not sound; use another finger, or mute it with x)",
        ),
        (
            "2/1 1/2 x x x 2/1",
            "",
            "string 5 at fret 1 lies under finger 1, which lies across strings 6 to 1 at fret 2 "
            "(it could not sound; use another finger, or mute it with x)",
        ),
        (
            "x x x 0 x x",
            "2/1 4-1",
            "string 3 is open under finger 1, which lies across strings 4 to 1 at fret 2 "
            "(it could not sound; use another finger, or mute it with x)",
        ),
        ("x x x x x x", "2/1 6-1, 3/1 6-1", "two barres by one finger (a finger lies across one run of strings)"),
        ("x x x x x x", "2/5 6-1", "a barre of finger 5 at fret 2 (fingers 1 to 4, fret 1 or more)"),
        ("x x x x x x", "0/1 6-1", "a barre of finger 1 at fret 0 (fingers 1 to 4, fret 1 or more)"),
        ("x x x x x x", "37/1 6-1", "a barre of finger 1 at fret 37 (fingers 1 to 4, fret 1 or more)"),
        (
            "x x x x x x",
            "2/1 7-1",
            "a barre from string 7 to 1 (from the bass end to the treble end, within strings 6 to 1)",
        ),
        (
            "x x x x x x",
            "2/1 6-0",
            "a barre from string 6 to 0 (from the bass end to the treble end, within strings 6 to 1)",
        ),
        (
            "x x x x x x",
            "2/1 1-6",
            "a barre from string 1 to 6 (from the bass end to the treble end, within strings 6 to 1)",
        ),
        (
            "x x x x x x",
            "2/1 3-3",
            "a barre from string 3 to 3 (from the bass end to the treble end, within strings 6 to 1)",
        ),
    ],
)
def test_a_shape_that_contradicts_itself_is_refused(text: str, barres: str, line: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        parse_shape(text, barres)
    assert str(caught.value) == line


def test_the_highest_fret_itself_is_possible() -> None:
    assert parse_shape("x x x x x 36/4", "36/1 6-2").frets == (36,)


def test_a_shape_without_strings_is_refused() -> None:
    with pytest.raises(ChangeoverError, match="a shape without strings"):
        Shape(())


def test_a_muted_string_may_lie_under_a_barre() -> None:
    assert parse_shape("2/1 x x x x 2/1").sounding == (6, 1)
