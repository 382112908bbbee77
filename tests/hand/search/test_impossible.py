"""Passages that cannot be fingered: which slice, which notes, why, and what could be instead."""

from __future__ import annotations

import pytest

from tests.hand.search.building import passage
from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import HANDS
from trainer.hand.search.impossible import Impossible
from trainer.hand.search.solve import work_out

CASES = (
    ("C4 D2", 1, "D2 is lower than the lowest string", "octave higher"),
    ("C4 E4 C6", 2, "C6 is not on the neck", "octave lower"),
    ("E2+F2", 0, "no four fingers", "leave out"),
    ("F2+A3@3+C5@1", 0, "apart", "leave out"),
    ("C4 E2@6.1", 1, "E2 cannot be had as it is set", "string 6 open"),
    ("F3@4.1+A3@3.1", 0, "what is set", "let go the finger of"),
)


@pytest.mark.parametrize(("text", "index", "why", "nearest"), CASES)
def test_an_impossible_slice_is_named_with_its_reason(text: str, index: int, why: str, nearest: str) -> None:
    result = work_out(passage(text))
    assert isinstance(result, Impossible)
    assert result.index == index
    assert why in result.why
    assert nearest in result.nearest
    assert len(result.notes) == len(text.split()[index].split("+"))


def test_a_child_is_told_of_its_reach_and_a_four_string_of_its_strings() -> None:
    child = work_out(passage("F2+A3@3+C5@1"), HANDS["child"])
    assert isinstance(child, Impossible)
    few = work_out(passage("C4+E4+G4+C5+E5", instrument=Instrument.tuned("G4 C4 E4 A4")))
    assert isinstance(few, Impossible)
    assert few.why == "5 notes on 4 strings"
