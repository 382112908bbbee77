"""The two schools' weights, and what fingers already set say of the rest."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from tests.hand.search.building import found, passage
from trainer.hand.search import fitted
from trainer.hand.search.weights import SCHOOLS, TABLES, TERMS


@pytest.mark.parametrize("school", SCHOOLS)
def test_every_term_and_table_has_its_weight(school: str) -> None:
    weights = SCHOOLS[school]()
    assert weights.name == school
    assert weights.terms.keys() == TERMS.keys()
    assert {name: table.shape for name, table in weights.tables.items()} == dict(TABLES)
    assert all(np.isfinite(table).all() for table in weights.tables.values())
    assert weights.filled == (frozenset(TABLES) if school == "editions" else frozenset())


def test_only_staying_saves() -> None:
    for make in SCHOOLS.values():
        assert all(weight >= 0 for name, weight in make().terms.items() if name != "keep")


def test_fixed_terms_are_alike_in_both_schools() -> None:
    plain, editions = (SCHOOLS[name]().terms for name in ("hand", "editions"))
    assert {name: plain[name] for name, term in TERMS.items() if term.fixed} == pytest.approx(
        {name: editions[name] for name, term in TERMS.items() if term.fixed}
    )
    assert fitted.TERMS.keys() <= TERMS.keys()


def test_every_term_says_its_unit_and_its_reason() -> None:
    assert all(term.unit and term.reason and term.words for term in TERMS.values())


def test_a_finger_set_once_is_taken_for_the_same_notes_again() -> None:
    twice = passage("C4 D4 E4 G4 C4 D4 E4 G4", Fraction(1, 2))
    usual = found(twice).best.notes
    assert usual[3].finger == usual[7].finger == 3
    pinned = twice.pinned({3: replace(twice.notes[3], finger=4)})
    assert found(pinned).best.notes[7].finger == 3
    assert found(pinned, habit=1.0).best.notes[7].finger == 4


def test_when_something_is_set_only_what_must_move_moves() -> None:
    line = passage("C4 E4 G4 E4 C4 D4 F4 D4 C4", Fraction(1, 2))
    before = found(line).best.notes
    pinned = line.pinned({2: replace(line.notes[2], string=2)})
    after = found(pinned, near=before).best.notes
    assert after[2].string == 2
    moved = [index for index, (old, new) in enumerate(zip(before, after, strict=True)) if old != new]
    free = found(pinned).best.notes
    assert len(moved) <= sum(1 for old, new in zip(before, free, strict=True) if old != new)
    assert all(index <= 5 for index in moved)
