"""What is kept from sitting to sitting: join plans and the day of the last caution."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from trainer.files import kept
from trainer.practice.drill import Segment
from trainer.practice.joins import begin
from trainer.practice.recall import unread

PLAN = begin([Segment("", 1, 4), Segment("", 5, 8)]).after(3, 3)
NAMED = '[bold]A title with "quotes", é and a . dot'


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "kept.toml"


def test_nothing_is_kept_to_begin_with(path: Path) -> None:
    assert kept.load(path) == (kept.Kept(), ())


def test_a_plan_is_kept_by_the_title_of_its_drill_beside_others(path: Path) -> None:
    kept.keep_plan(path, NAMED, PLAN)
    kept.keep_plan(path, "Other", PLAN.skipped())
    kept.keep_caution(path, date(2026, 3, 14))
    found, problems = kept.load(path)
    assert ({title: plan.text for title, plan in found.joins.items()}, found.caution_shown, problems) == (
        {NAMED: PLAN.text, "Other": PLAN.skipped().text},
        date(2026, 3, 14),
        (),
    )
    assert found.joins[NAMED].good == 1
    kept.keep_plan(path, "Other", None)
    assert set(kept.load(path)[0].joins) == {NAMED}


def test_targets_and_what_is_known_by_heart_are_kept_by_drill(path: Path) -> None:
    known = unread(2).after(1, clean=True)
    kept.keep_target(path, NAMED, 96.0)
    kept.keep_target(path, "Other", 80)
    kept.keep_memory(path, NAMED, known)
    found, problems = kept.load(path)
    assert (dict(found.targets), dict(found.memory), problems) == ({NAMED: 96.0, "Other": 80.0}, {NAMED: known}, ())
    kept.keep_target(path, NAMED, None)
    assert set(kept.load(path)[0].targets) == {"Other"}


def test_a_target_out_of_reach_and_a_memory_that_is_none_are_told(path: Path) -> None:
    path.parent.mkdir()
    path.write_text('format = 1\n[targets]\nfast = 500\n[memory]\nnone = "by heart"\nfar = "9:0"\nwell = "4:3"\n')
    found, problems = kept.load(path)
    assert (dict(found.targets), set(found.memory)) == ({}, {"well"})
    assert sorted(str(problem.line) for problem in problems) == ["3", "5", "6"]


def test_what_cannot_be_read_is_left_out_and_told(path: Path) -> None:
    path.parent.mkdir()
    path.write_text(
        'format = 1\ncaution_shown = "soon"\n[joins]\ngood = "1-4 5-8 | passed | at 0 good 0 missed 0"\n'
        'gap = "1-4 6-8 | passed | at 0 good 0 missed 0"\nnone = "all of it"\nnumber = 3\n'
    )
    found, problems = kept.load(path)
    assert (set(found.joins), found.caution_shown) == ({"good"}, None)
    assert sorted(str(problem.line) for problem in problems) == ["2", "5", "6", "7"]
