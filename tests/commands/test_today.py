"""`changeover today`, from the words typed to what comes out."""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.practice.timemodel.player import CHANGES, Player
from trainer.cli import main
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing
from trainer.practice.reviews import CAVEAT

AM, C, G7 = "x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "3/3 2/2 0 0 0 1/1"
AM_C = f"E2 A2 D3 G3 B3 E4 | 0 | {AM} | {C}"
C_G7 = f"E2 A2 D3 G3 B3 E4 | 0 | {C} | {G7}"
DAY = 86_400.0
RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)

Keep = Callable[..., None]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test a home of its own."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "100")


@pytest.fixture
def keep(tmp_path: Path) -> Keep:
    """Log times of a change, so many days ago, a second apart."""

    def keep(change: str, times: list[float], days_ago: float = 0.0, *, timing: Timing = Timing.LEAVE) -> None:
        now = time.time() - days_ago * DAY - len(times)
        with Log.open(tmp_path / "data" / "practice.sqlite3") as log:
            log.begin(RUN)
            receipts = [
                log.add(Attempt(f"{change} {days_ago} {timing} {n}", "run", change, now + n, timing, "keys", ms))
                for n, ms in enumerate(times)
            ]
        assert [receipt.result() for receipt in receipts] == [None] * len(receipts)

    return keep


@pytest.fixture
def today(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Run the command, which must succeed, and return what it printed."""

    def today(*words: str) -> str:
        assert main(["today", *words]) == 0
        printed = capsys.readouterr()
        assert printed.err == ""
        return printed.out

    return today


def document(printed: str) -> dict[str, Any]:
    return dict(json.loads(printed))


def test_without_a_log_it_says_how_to_begin_and_makes_no_file(today: Callable[..., str], tmp_path: Path) -> None:
    assert today().startswith("No change timed yet.")
    assert document(today("--json"))["changes"] == []
    assert list(tmp_path.iterdir()) == []


def test_the_slower_change_comes_first_with_its_reasons(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [520.0] * 8, days_ago=2)
    keep(C_G7, [1200.0] * 8, days_ago=2)
    printed = today("--minutes", "5")
    assert printed.startswith("Today: 2 changes, 36 tries, about 4 of 5 minutes.")
    assert printed.index("1. C → G7, of Two shapes: 18 tries") < printed.index("2. Am → C, of Two shapes: 18 tries")
    assert "1200 ms, wanted 500" in printed
    assert "In this order, 6 tries each: 1 2 1 2 1 2" in printed
    assert CAVEAT in printed


def test_the_json_says_the_same_for_programs(keep: Keep, today: Callable[..., str]) -> None:
    keep(C_G7, [1200.0] * 8, days_ago=2)
    found = document(today("--json", "--tempo", "75", "--minutes", "2"))
    assert (found["minutes"], found["tempo"], found["resting"], found["caveat"]) == (2, 75, [], CAVEAT)
    (change,) = found["changes"]
    assert (change["from"], change["to"], change["capo"], change["timing"]) == (C, G7, 0, "leave")
    assert (change["median_ms"], change["target_ms"], change["tries"]) == (1200, 400, 18)
    assert change["score"] == pytest.approx(sum(reason["worth"] for reason in change["reasons"]))
    assert {"slow", "near"} <= {reason["kind"] for reason in change["reasons"]}
    assert found["turns"] == [0, 0, 0]


@pytest.fixture
def well_known(keep: Keep, tmp_path: Path) -> None:
    """Log thirty changes of one hand, all of them fast enough, and a drill of four shapes of which one was timed."""
    player = Player(random.Random(3), base_ms=300.0)
    for key, vector in CHANGES[100:400:10]:
        keep(key, [player.time(key, vector, number + 1) for number in range(8)])
    keep(AM_C, [300.0] * 8)
    (tmp_path / "drills").mkdir()
    shapes = "".join(f'\n[[shapes]]\nshape = "{shape}"\n' for shape in (AM, C, G7))
    (tmp_path / "drills" / "mine.toml").write_text(f'format = 1\ntitle = "{RUN.drill}"\n{shapes}')


@pytest.mark.usefixtures("well_known")
def test_what_was_never_timed_stands_with_what_this_hand_will_take(today: Callable[..., str]) -> None:
    changes = [one for one in document(today("--json", "--minutes", "60"))["changes"] if one["predicted_ms"]]
    assert {(one["from"], one["to"]) for one in changes} == {(C, G7), (G7, AM)}
    for one in changes:
        assert (one["median_ms"], one["drill"], one["timing"], one["source"]) == (None, RUN.drill, "leave", "keys")
        assert one["predicted_ms"]["low"] < one["predicted_ms"]["middle"] < one["predicted_ms"]["high"]
        assert [reason["kind"] for reason in one["reasons"]] == ["new"]
    about = f"{changes[0]['predicted_ms']['middle'] / 1000:.1f}"
    assert f"never timed; about {about} s for this hand (" in today("--minutes", "60")


def test_nothing_is_predicted_for_a_hand_that_is_hardly_known(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [300.0] * 8)
    assert "never timed" not in today()


def test_what_is_fast_enough_and_fresh_rests(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [400.0] * 8)
    assert today().startswith("Nothing is due and every change is fast enough.")
    assert document(today("--json"))["resting"][0]["to"] == C
    # A faster tempo asks for more.
    assert "400 ms, wanted 300" in today("--tempo", "100")


def test_what_is_stuck_is_told_even_where_it_rests(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [540.0 + n % 5 for n in range(80)])
    printed = today()
    assert printed.startswith("Nothing is due, and more of the same would not help.")
    assert "Resting, Am → C, of Two shapes: levels off at about 542 ms" in printed


def test_a_change_stands_as_it_was_timed_last_and_is_never_pooled(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [2000.0] * 8, days_ago=9, timing=Timing.CUE)
    keep(AM_C, [700.0] * 8, days_ago=1)
    (change,) = document(today("--json"))["changes"]
    assert (change["timing"], change["median_ms"]) == ("leave", 700)


def test_a_moment_to_come_or_beyond_any_calendar_counts_as_today(keep: Keep, today: Callable[..., str]) -> None:
    keep(AM_C, [900.0] * 8, days_ago=-400)
    keep(C_G7, [900.0] * 8, days_ago=-1e12)
    assert len(document(today("--json"))["changes"]) == 2


def test_what_stands_in_the_log_cannot_steer_the_terminal(keep: Keep, today: Callable[..., str]) -> None:
    keep("\x1b[31m[bold]evil", [900.0] * 8)
    assert "\x1b" not in today() + today("--json")
    assert "[bold]evil" in today()


@pytest.mark.parametrize(
    "words", [["--minutes", "0"], ["--minutes", "x"], ["--minutes", "nan"], ["--tempo", "5"], ["--tempo", "inf"]]
)
def test_bad_numbers_are_one_line_and_exit_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["today", *words])
    assert ended.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_minutes_and_tempo_are_those_of_the_settings(keep: Keep, today: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("format = 1\nminutes = 5\ngoal_tempo = 100\n")
    keep(C_G7, [1200.0] * 8, days_ago=2)
    found = document(today("--json"))
    assert (found["minutes"], found["tempo"], found["changes"][0]["target_ms"]) == (5, 100, 300)
    assert (found["changes"][0]["name"], found["changes"][0]["drill"]) == ("C → G7", "Two shapes")
