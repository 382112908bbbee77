"""What costs a hand most: rows that fit with their intervals drawn, and the screen they stand on."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.commands.test_hand import practise
from tests.ui.app_fakes import app, running_text, services, shows, until
from trainer.files import paths
from trainer.hand.reach import Hand
from trainer.log.writer import Log
from trainer.practice.curve import Interval
from trainer.practice.timemodel.model import ENOUGH
from trainer.ui.progress.costs import Row, costs, draw

BARRE = Row("laying a barre", "barre laid", Interval(180.0, 120.0, 240.0))
GUIDE = Row("a guide finger, in place of one that crosses", "guide, not cross", Interval(-120.0, -160.0, -80.0))


def test_rows_carry_their_numbers_and_intervals_about_the_line() -> None:
    assert draw([BARRE, GUIDE], 64) == [
        "barre laid                 │       ├───●───┤ +180 (+120 to +240)",
        "guide, not cross ├──●─┤    │                 -120 (-160 to -80)",
    ]
    assert draw([GUIDE], 64, fine=False) == ["guide, not cross [------o------]            | -120 (-160 to -80)"]
    assert draw([BARRE, GUIDE], 40) == ["barre laid       +180 (+120 to +240)", "guide, not cross -120 (-160 to -80)"]
    assert draw([BARRE, GUIDE], 120)[1].startswith("a guide finger, in place of one that crosses ")
    assert draw([], 80) == []


intervals = st.lists(st.floats(-900, 900), min_size=3, max_size=3).map(sorted)


@given(st.lists(intervals, max_size=6), st.integers(20, 160), st.booleans())
@example([[0.0, 0.0, 0.0]], 32, False)
def test_rows_fit_and_drawn_intervals_keep_their_order(given_: list[list[float]], width: int, fine: bool) -> None:
    rows = [
        Row(f"words of row {n}", f"row {n}", Interval(middle, low, high))
        for n, (low, middle, high) in enumerate(given_)
    ]
    drawn = draw(rows, width, fine=fine)
    assert len(drawn) == len(rows)
    assert all(len(line) <= width for line in drawn)
    if not fine:
        assert all(line.isascii() for line in drawn)


# From a log


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    return paths.log_file()


def test_a_log_that_cannot_be_read_is_told(home: Path) -> None:
    home.parent.mkdir(parents=True)
    home.write_bytes(b"no database at all, but long enough to be looked at" * 40)
    found = costs(home, Hand())
    assert found.wrong
    assert found.rows == ()
    assert str(home) in found.said


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_the_screen_says_what_costs_most_and_how_far_to_trust_it(home: Path, size: tuple[int, int]) -> None:
    practise(home, 40)
    with Log.open(home) as log:
        async with app(services(log), "hand").run_test(size=size) as pilot:
            await until(pilot, lambda: shows(pilot, "of 40 changes left out"))
            assert shows(pilot, "laying a barre" if size[0] > 80 else "barre laid", "●")
            assert "Learned from 40 changes, two presses from keys" in running_text(pilot)


async def test_it_is_a_key_away_from_progress(home: Path) -> None:
    with Log.open(home) as log:
        async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
            await pilot.press("h")
            await until(pilot, lambda: "Not enough yet: 0 changes" in running_text(pilot))
            await pilot.press("escape")
            await until(pilot, lambda: shows(pilot, "Progress"))


async def test_without_enough_it_says_how_far_it_is(home: Path) -> None:
    practise(home, 3)
    with Log.open(home) as log:
        async with app(services(log), "hand").run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: "Not enough yet: 3 changes timed one way" in running_text(pilot))
            assert f"of {ENOUGH}" in running_text(pilot)
