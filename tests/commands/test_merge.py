"""`changeover merge`, from the words typed to what comes out and what stands in the log."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from trainer.cli import main
from trainer.files import classes, paths
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing
from trainer.practice.roster import Class, Seat


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def taken(tmp_path: Path) -> Path:
    """A log with three changes of one drill and one of another, whose title would clear the screen."""
    path = tmp_path / "taken.sqlite3"
    play(path, "Two shapes", 3)
    play(path, "\x1b[2JOthers", 1)
    return path


def play(path: Path, drill: str, changes: int) -> None:
    with Log.open(path) as log:
        log.begin(Run(drill, drill, 0.0, Timing.LEAVE))
        for n in range(changes):
            assert (
                log.add(Attempt(f"{drill} {n}", drill, "one", float(n), Timing.LEAVE, "keys", 700.0)).result(30) is None
            )


def count(path: Path) -> int:
    with reading(path) as history:
        return sum(summary.count for summary in history.summaries())


def said(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main(["merge", *map(str, words)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def refused(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main(["merge", *map(str, words)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    return err


def test_what_came_is_said_in_lines_the_second_time_too(taken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    play(paths.log_file(), "Two shapes", 1)
    assert said(capsys, taken) == (
        "Merged: 3 changes new in 1 new run, 1 known already.\n  2  Two shapes\n  1  ·[2JOthers\n"
    )
    assert said(capsys, taken) == "Merged: 0 changes new in 0 new runs, 4 known already.\n"
    assert count(paths.log_file()) == 4


def test_a_change_told_more_fully_is_counted(taken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, taken)
    with Log.open(taken) as log:
        log.mark("Two shapes 0", clean=True).result(30)
        log.finish("Two shapes", remark="cold hands").result(30)
    assert said(capsys, taken) == ("Merged: 0 changes new in 0 new runs, 4 known already; 2 entries told more fully.\n")


def test_a_dry_run_says_what_would_come(taken: Path, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "--dry-run", taken)
    assert out.startswith("Nothing was written. There would be 4 changes new in 2 new runs, 0 known already.\n")
    assert not home.exists()


def test_the_same_as_json(taken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document: dict[str, Any] = json.loads(said(capsys, "--json", taken))
    assert document == {
        "file": str(taken),
        "log": str(paths.log_file()),
        "dry_run": False,
        "changes": {"new": 4, "known": 0},
        "runs": {"new": 2},
        "fuller": 0,
        "drills": [{"title": "Two shapes", "new": 3}, {"title": "·[2JOthers", "new": 1}],
    }


def test_what_is_no_log_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear player, " * 99)
    assert refused(capsys, letter) == (
        f"changeover: {letter}: this file is not a practice log (nothing was changed; fetch the file once more)\n"
    )
    assert "there is no such file" in refused(capsys, tmp_path / "nothing")
    assert "there is no such file" in refused(capsys, "nul\0byte")


@pytest.fixture
def seats() -> None:
    """Two classes; a name stands in both, another in one, and one seat has none."""
    classes.create(Class("Tuesdays", (Seat("kwb", 1, "Window"), Seat("trp", 2), Seat("zdm", 7, "Door"))))
    classes.create(Class("Fridays", (Seat("xyz", 1, "Window"),)))


@pytest.mark.parametrize(
    ("player", "seat"), [("Door", "zdm"), (" dOOR", "zdm"), ("Tuesdays/2", "trp"), ("fridays/window", "xyz")]
)
def test_a_log_comes_back_to_its_seat(
    seats: None, taken: Path, player: str, seat: str, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, taken, "--player", player)
    assert count(paths.seat_log(seat)) == 4
    assert not paths.log_file().exists()


@pytest.mark.parametrize(
    ("player", "what"),
    [
        ("Window", "more than one seat has the name 'Window', in 'fridays' and 'tuesdays'"),
        ("Stove", "no seat of a class has the name 'Stove'"),
        ("kwb", "no seat of a class has the name 'kwb'"),
        ("Tuesdays/9", "no seat '9' in 'Tuesdays'"),
        ("Mondays/1", "no class 'Mondays'"),
        ("../Door", "no class '..'"),
    ],
)
def test_a_player_who_is_not_one_seat_is_one_line(
    seats: None, taken: Path, home: Path, player: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert what in refused(capsys, taken, "--player", player)
    assert not (home / "data").exists()


def test_a_seat_s_log_goes_home_and_comes_back_with_what_was_played_there(
    seats: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    school, carried = paths.seat_log("zdm"), tmp_path / "home.sqlite3"
    play(school, "At school", 5)
    assert main(["class", "take", "Tuesdays", "Door", "-o", str(carried)]) == 0
    capsys.readouterr()
    said(capsys, carried)  # the player's own log at home
    play(paths.log_file(), "At home", 2)
    play(school, "At school again", 1)
    said(capsys, paths.log_file(), "--player", "Door")
    assert count(school) == 8
    said(capsys, school)
    assert count(paths.log_file()) == 8
