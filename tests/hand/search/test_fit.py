"""The fit learns from what is printed: in its terms, and in its tables as well."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.fit.editions import read
from tests.fit.learn import chunks, fit, gradient
from tests.fit.measure import COLD, HALF, lowest_fret, measure
from trainer.hand.reach import Hand
from trainer.hand.search.weights import TERMS, Weights, plain

DATA = Path(__file__).parents[2] / "data" / "fingerings"
PIECE = read(DATA / "CarcassiM__O59__TwoMinorPreludes__TwoMinorPreludes.json")[0]
"""Work and typesetting in the public domain; the README beside it names the source."""


def test_more_of_the_print_comes_out_once_it_has_been_learned_from() -> None:
    learned = fit([PIECE], rounds=4, seed=1)
    without_tables = Weights("terms only", learned.terms, plain().tables)
    before, terms, after = (measure(PIECE, weights, COLD) for weights in (plain(), without_tables, learned))
    assert before["cheapest"].of == PIECE.digits == 24
    assert after["cheapest"].right > before["cheapest"].right
    assert after["cheapest"].right > terms["cheapest"].right
    assert all(learned.terms[name] == term.plain for name, term in TERMS.items() if term.fixed)


def test_what_the_print_has_more_of_is_what_the_gradient_asks_for() -> None:
    chunk = chunks([PIECE])[0]
    amounts = gradient(chunk, plain(), Hand())
    assert amounts is not None
    # In all, as many notes are taken either way: tables that count each note once add up to what terms say of stopping.
    assert np.isclose(amounts.tables["use"].sum(), amounts.terms["stopped"])
    by_finger = amounts.tables["use"].sum(axis=(1, 2))
    assert np.isclose(by_finger[3], amounts.terms["weak"])


def test_given_digits_are_not_counted_as_found() -> None:
    cold, half = measure(PIECE, plain(), COLD), measure(PIECE, plain(), HALF)
    assert half["cheapest"].of == 12
    assert cold["cheapest"].right <= cold["top two"].right
    assert lowest_fret(PIECE)["cheapest"].of == 24
