"""What a barre does: each action, and those that are true together."""

from __future__ import annotations

import pytest

from tests.hand.building import barres, change
from trainer.fretboard.shape import Barre

FULL_V = "5/1 7/3 7/4 6/2 5/1 5/1"


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        # From the air and off again.
        ("0 0 0 0 0 0", FULL_V, ["laid"]),
        (FULL_V, "0 0 0 0 0 0", ["raised"]),
        (FULL_V, FULL_V, ["kept"]),
        ("C", "Am", []),
        # A fingertip that stays and lies down, or the other way: one finger that keeps holding.
        ("C", "F", ["laid hinged"]),
        ("F", "C", ["raised hinged"]),
        ("x x 0 2/2 3/3 1/1", "x x 0 2/2 1/1 1/1", ["laid hinged"]),
        # A barre whose one end holds while the strings beyond it open or close.
        ("5/1 5/1 5/1 5/1 5/1 5/1", "0 0 0 5/1 5/1 5/1", ["hinged narrowed"]),
        ("0 0 0 5/1 5/1 5/1", "5/1 5/1 5/1 5/1 5/1 5/1", ["hinged widened"]),
        ("5/1 5/1 5/1 5/1 5/1 5/1", "5/1 5/1 5/1 0 0 0", ["hinged narrowed"]),
        # No end holds: it is only narrower or wider.
        ("5/1 5/1 5/1 5/1 5/1 5/1", "x 5/1 5/1 5/1 5/1 x", ["narrowed"]),
        ("x 5/1 5/1 5/1 5/1 x", "5/1 5/1 5/1 5/1 5/1 5/1", ["widened"]),
        # Rolled over to the treble without leaving the strings between.
        ("x 5/1 5/1 5/1 x x", "x x 5/1 5/1 5/1 x", ["widened narrowed"]),
        # In contact to another fret.
        ("F", "3/1 5/3 5/4 4/2 3/1 3/1", ["slid"]),
        ("F", "x 3/1 5/3 5/4 4/2 3/1", ["slid narrowed"]),
        ("x 3/1 5/3 5/4 4/2 3/1", "F", ["slid widened"]),
        ("x 1/1 1/1 1/1 x x", "x x 3/1 3/1 3/1 x", ["slid widened narrowed"]),
        # With no string in common the finger has to leave: one barre off, another on.
        ("1/1 1/1 x x x x", "x x x x 3/1 3/1", ["raised", "laid"]),
        ("1/1 1/1 x x x x", "x x x x 1/1 1/1", ["raised", "laid"]),
        # A fingertip that slides and then lies down has laid a new barre.
        ("x x x x 1/1 0", "x x x x 3/1 3/1", ["laid"]),
        ("x x x x 3/1 3/1", "x x x x 1/1 0", ["raised"]),
        # A fingertip beside the barre's strings.
        ("2/1 x x x x x", "x x x 2/1 2/1 2/1", ["laid"]),
        # By another finger.
        ("x x x 5/1 5/1 5/1", "x x x 5/2 5/2 5/2", ["raised", "laid"]),
    ],
)
def test_each_action(before: str, after: str, expected: list[str]) -> None:
    assert barres(change(before, after)) == expected


def test_two_barres_at_once_are_told_in_finger_order() -> None:
    """Barre chords of the A form: 1 across five strings and 3 across three, two frets on."""
    done = change("x 1/1 3/3 3/3 3/3 1/1", "x 3/1 5/3 5/3 5/3 3/1")
    assert barres(done) == ["slid", "slid"]
    assert [(barre.start, barre.end) for barre in done.barres] == [
        (Barre(1, 1, 5, 1), Barre(1, 3, 5, 1)),
        (Barre(3, 3, 4, 2), Barre(3, 5, 4, 2)),
    ]


def test_one_of_two_barres_goes() -> None:
    done = change("x 2/1 4/3 4/3 4/3 2/1", "x 2/1 4/3 4/4 3/2 2/1")
    assert barres(done) == ["kept", "raised hinged"]


def test_a_hinge_from_a_fingertip_says_where_the_tip_was() -> None:
    (barre,) = change("C", "F").barres
    assert barre.start == Barre(finger=1, fret=1, low_string=2, high_string=2)
    assert barre.end == Barre(finger=1, fret=1, low_string=6, high_string=1)


def test_what_comes_from_the_air_was_nowhere() -> None:
    (laid,) = change("0 0 0 0 0 0", "F").barres
    assert laid.start is None
    (raised,) = change("F", "0 0 0 0 0 0").barres
    assert raised.end is None


def test_a_declared_barre_counts_with_all_its_strings() -> None:
    assert barres(change("x 3/3 3/4 2/2 x 1/1 + 1/1 5-1", "x 3/3 3/4 2/2 x 1/1")) == ["raised hinged"]
