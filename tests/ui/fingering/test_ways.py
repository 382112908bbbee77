"""Ways of fingering a drill as values: what is set moves no more than it must, and what comes first stays first."""

from __future__ import annotations

from itertools import cycle, islice
from pathlib import Path

import pytest

from trainer.fretboard.text import print_shape
from trainer.hand.reach import Hand
from trainer.practice.quick import from_shapes
from trainer.ui.fingering.bench import Asked, Bench
from trainer.ui.fingering.schools import SCHOOLS
from trainer.ui.fingering.ways import Outcome, sought

SHAPES = 12


def outcome(bench: Bench) -> Outcome:
    return sought(bench.drill, bench.asked, Hand(), lambda: SCHOOLS[bench.asked.school].weigh(Path("none"), Hand()))


def shapes(outcome: Outcome, column: int) -> list[str]:
    return [print_shape(step.shape) for step in outcome.columns[column].drill.steps]


@pytest.fixture
def bench() -> Bench:
    return Bench(from_shapes(list(islice(cycle(("Am", "C", "D7", "G")), SHAPES))), Asked("hand"))


@pytest.mark.parametrize("column", range(3))
def test_another_finger_in_one_shape_leaves_all_others_as_they_are(bench: Bench, column: int) -> None:
    before = outcome(bench)
    asked = bench.looking(column).at_shape(5).next_note().other_finger(before.columns[column].way.notes)
    after = outcome(asked)
    assert after.set is not None
    assert not after.problem
    pairs = zip(shapes(before, column), shapes(after, after.set), strict=True)
    assert [at for at, (old, new) in enumerate(pairs) if old != new] == [5]
    ((note, taken),) = asked.asked.pins
    assert after.columns[after.set].way.notes[note] == taken
    # The best way under what is set is no dearer, and may move more.
    best = min(each.total for each in after.columns[1:])
    assert best <= after.columns[after.set].total + 1e-9


@pytest.mark.parametrize("column", range(3))
def test_a_way_that_is_set_as_it_is_stays_whole(bench: Bench, column: int) -> None:
    before = outcome(bench)
    after = outcome(bench.at_shape(2).pin(before.columns[column].way.notes))
    assert after.set is not None
    assert shapes(after, after.set) == shapes(before, column)
    assert after.columns[after.set].total == pytest.approx(before.columns[column].total)


def test_every_change_costs_what_its_reasons_say(bench: Bench) -> None:
    for column in outcome(bench).columns:
        for at, cost in enumerate(column.costs):
            told = sum(clause.cost for clause in column.reasons(at))
            assert told == pytest.approx(
                cost, abs=1.0
            )  # what costs next to nothing, or every stopped note, goes untold
        assert column.total == pytest.approx(column.way.total)
