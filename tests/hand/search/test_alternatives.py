"""Other ways are ways a player would call other, dearer than the best, and told by what makes them so."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.hand.search.building import found, passage
from trainer.hand.search.alternatives import same
from trainer.hand.search.solve import SLACK
from trainer.hand.search.wording import clauses

LINE = passage("E4 G4 A4 C5 A4 G4 E4 C4", Fraction(1, 2))


def test_ways_differ_in_what_a_player_cares_about() -> None:
    result = found(LINE, alternatives=3)
    assert len(result.alternatives) == 3
    costs = [other.fingering.cost for other in result.alternatives]
    assert costs == sorted(costs)
    assert costs[0] >= result.best.cost - SLACK
    for number, other in enumerate(result.alternatives):
        assert other.differs
        assert all(difference.kind in {"position", "string", "barre", "guide"} for difference in other.differs)
        assert not any(same(other.differs, later.differs) for later in result.alternatives[number + 1 :])


def test_an_alternative_costs_no_less_than_the_best_way_under_the_pin_that_makes_it_one() -> None:
    result = found(LINE, alternatives=3)
    other = next(a for a in result.alternatives if any(d.kind == "string" for d in a.differs))
    at = next(d.first for d in other.differs if d.kind == "string")
    note = LINE.slices[at].struck[0]
    pinned = found(LINE.pinned({note: replace(LINE.notes[note], string=other.fingering.notes[note].string)}))
    assert other.fingering.cost >= pinned.best.cost - SLACK


def test_least_worst_makes_the_worst_change_no_worse_than_easiest() -> None:
    hard = passage("F4@1+A3@3 C5@1+E4@2 G4@1+B3@2 A4@1+F3@4")
    easiest, least_worst = found(hard), found(hard, worst=True)
    dearest = [max(move.cost for move in way.best.moves) for way in (easiest, least_worst)]
    assert least_worst.best.cost == pytest.approx(dearest[1])
    assert dearest[1] <= dearest[0] + SLACK
    assert least_worst.best.total >= easiest.best.total - SLACK


def test_a_finger_that_jumps_strings_is_told_with_both_strings() -> None:
    result = found(passage("C4@2.1 B2@5.1"))
    words = [clause.words for clause in clauses(result.best, 1)]
    assert "1 crosses from string 2 to string 5 at fret 2 with no time" in words
