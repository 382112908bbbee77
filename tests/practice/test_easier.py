"""Where other fingers would be clearly easier. The fingers offered are common practice, as teachers give them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.files.library import find
from trainer.fretboard.text import parse_shape
from trainer.hand.reach import Hand
from trainer.practice.drill import Drill
from trainer.practice.easier import MARGIN, MOST_NOTES, easier
from trainer.practice.quick import from_shapes

CLEAR = (
    (("G", "G7"), "from G7 to G: G as 3/3 2/2 0 0 0 3/4"),
    (("A", "Am"), "from A to Am: A as x 0 2/2 2/3 2/4 0"),
    (("E", "Em"), "from E to Em: Em as 0 2/2 2/3 0 0 0"),
    (("Dm", "Dsus4"), "from Dsus4 to Dm: Dsus4 as x x 0 2/2 3/3 3/4"),
)


@pytest.mark.parametrize(("names", "words"), CLEAR)
def test_a_finger_that_may_stay_is_told_of(names: tuple[str, ...], words: str) -> None:
    (found,) = easier(from_shapes(list(names)), Hand())
    assert found.words == words
    assert found.saved >= MARGIN


@pytest.mark.parametrize("names", [("C", "F"), ("C", "G7"), ("Am", "C"), ("G", "D")])
def test_changes_that_are_fingered_well_are_left_alone(names: tuple[str, ...]) -> None:
    assert easier(from_shapes(list(names)), Hand()) == ()


def test_only_the_change_that_gains_is_told_of() -> None:
    good = ["x 0 2/2 2/3 1/1 0", "0 2/2 2/3 1/1 0 0", "x 3/3 2/2 0 1/1 0"]
    (found,) = easier(from_shapes([*good, "x 0 2/4 2/3 1/2 0"]), Hand())
    assert found.pair == (2, 3)
    assert found.words == "from shape 3 to shape 4: shape 4 as x 0 2/2 2/3 1/1 0"


def test_what_it_offers_it_does_not_better_again() -> None:
    for names, words in CLEAR:
        name, _, text = words.partition(": ")[2].partition(" as ")
        drill = from_shapes(list(names))
        shape = parse_shape(text)
        steps = tuple(replace(step, shape=shape) if step.label == name else step for step in drill.steps)
        assert easier(replace(drill, steps=steps), Hand()) == ()


def _long() -> Drill:
    drill = from_shapes(["G", "G7"])
    return replace(drill, steps=drill.steps * (MOST_NOTES // 12 + 1))


SILENT = {
    "trained on purpose": lambda: replace(from_shapes(["G", "G7"]), trains=("cross",)),
    "shipped": lambda: find("guide-1"),
    "a finger is not given": lambda: from_shapes(["3/2 2/1 0 0 0 3", "3/3 2/2 0 0 0 1/1"]),
    "cannot be held": lambda: from_shapes(["1/1 x x x x 15/2", "3/3 2/2 0 0 0 1/1"]),
    "too long": _long,
}


@pytest.mark.parametrize("why", SILENT)
def test_nothing_is_said_where_there_is_nothing_to_compare(why: str) -> None:
    assert easier(SILENT[why](), Hand()) == ()
