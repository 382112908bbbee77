"""Drills made on the spot from the words of a command line."""

from __future__ import annotations

import pytest

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import stock_shape
from trainer.fretboard.text import parse_shape
from trainer.practice.drill import Drill, Step
from trainer.practice.quick import from_shapes


def test_names_and_text_forms_may_be_mixed() -> None:
    assert from_shapes(["C", "f", "x 0 2/2 2/3 1/1 0", "x02210"]) == Drill(
        "C - F - x 0 2/2 2/3 1/1 0 - x 0 2 2 1 0",
        (
            Step(stock_shape("C"), "C"),
            Step(stock_shape("F"), "F"),
            Step(parse_shape("x 0 2/2 2/3 1/1 0")),
            Step(parse_shape("x 0 2 2 1 0")),
        ),
    )


def test_everything_wrong_is_told_with_the_word_it_is_about() -> None:
    with pytest.raises(ChangeoverError) as caught:
        from_shapes(["C", "Q", "x 0 2", "x 0 2 2 1 25", "x02z10"])
    assert [(problem.key, problem.what) for problem in caught.value.problems] == [
        ("Q", "no shape is named 'Q'"),
        ("x 0 2", "'x 0 2' has 3 strings, 4 to 10 are possible"),
        ("x 0 2 2 1 25", "fret 25 is off the neck"),
        ("x02z10", "'x02z10' has 1 string, 4 to 10 are possible"),
    ]


@pytest.mark.parametrize("words", [[], ["C"]])
def test_a_change_needs_two_shapes(words: list[str]) -> None:
    with pytest.raises(ChangeoverError, match="a change needs two shapes"):
        from_shapes(words)


def test_shapes_are_for_the_instrument_that_is_given() -> None:
    four = Instrument.tuned("G4 C4 E4 A4")
    assert len(from_shapes(["0 0 0 3/3", "2/2 0 1/1 0"], four).steps) == 2
    with pytest.raises(ChangeoverError, match="a shape of 6 strings on an instrument of 4"):
        from_shapes(["C", "F"], four)
    with pytest.raises(ChangeoverError, match="for standard tuning"):
        from_shapes(["Em", "E"], Instrument.tuned("D2 A2 D3 G3 B3 E4"))
