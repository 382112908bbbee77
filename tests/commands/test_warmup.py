"""`changeover warmup`, from the words typed to what comes out, on a clock that does not wait."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from trainer.cli import main
from trainer.commands import warmup
from trainer.log.writer import Log
from trainer.practice.load import Strain
from trainer.practice.quick import from_shapes
from trainer.practice.record import Run, Timing
from trainer.practice.warmup import CAUTION, Kind, Material, plan
from trainer.sound.beat import Moments, Pattern
from trainer.sound.clicks import Samples

SLIDES = "Warm-up: short slides"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test a home of its own."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))


@pytest.fixture
def warm(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Run the command, which must succeed, and return what it printed."""

    def warm(*words: str) -> str:
        assert main(["warmup", *words]) == 0
        printed = capsys.readouterr()
        assert printed.err == ""
        return printed.out

    return warm


def document(printed: str) -> dict[str, Any]:
    return dict(json.loads(printed))


def practised(home: Path, tempo: float, landed: int, days_ago: float) -> None:
    with Log.open(home / "data" / "practice.sqlite3") as log:
        at = time.time() - days_ago * 86_400
        receipt = log.begin(Run(f"run {tempo} {days_ago}", SLIDES, at, Timing.BEAT, tempo, 4, landed))
        assert receipt.result() is None


def test_ten_minutes_from_the_drills_that_ship(warm: Callable[..., str]) -> None:
    lines = warm("--plan").splitlines()
    assert lines[:2] == list(CAUTION)
    assert lines[3].startswith(" 0:00  Guitar aside.")
    assert lines[-1].startswith("10:00  Done.")
    assert any(SLIDES in line for line in lines)
    assert any("Em7 | Em | Asus2 | Em" in line for line in lines)


def test_the_json_is_the_same_warm_up(warm: Callable[..., str]) -> None:
    found = document(warm("--json", "--minutes", "7.5"))
    assert sum(part["seconds"] for part in found["parts"]) == 450
    loads = [part["load"] for part in found["parts"] if part["kind"] == "play"]
    assert loads == sorted(loads)
    assert {part["kind"] for part in found["parts"]} == {"away", "play", "rest"}


def test_it_waits_for_each_part_and_stops_by_itself(warm: Callable[..., str], monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    slept = []

    def sleep(seconds: float) -> None:
        slept.append(seconds)
        # Half of what was asked, as a signal may do: it has to go on waiting.
        now[0] += seconds / 2 if len(slept) % 2 else seconds

    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    monkeypatch.setattr(time, "sleep", sleep)
    printed = warm("--minutes", "2")
    assert now[0] == pytest.approx(220, abs=1e-6)
    assert printed.splitlines()[-1].startswith(" 2:00  Done.")


def test_the_beat_follows_each_drill_and_rests_with_the_hands() -> None:
    told: list[str] = []

    class Beat:
        def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
            told.append(f"{tempo:.0f} in {pattern.beats}")
            return float

        def stop(self) -> None:
            told.append("stop")

        def sound(self, _: Samples) -> bool:
            return False

    waltz = from_shapes(["Em", "Am"])
    material = Material("waltz", "Waltz", 2, 4.0, 50.0, Strain(30.0, 0.0, False))
    parts = plan([material], 4)
    warmup.go_through(parts, {"waltz": waltz}, lambda *_: None, lambda _: None, Beat())
    assert told[:4] == ["stop", "stop", "stop", "30 in 4"]
    assert [word == "stop" for word in told] == [part.kind is not Kind.PLAY for part in parts]


def test_without_a_terminal_the_bell_is_not_rung_and_it_is_said(
    warm: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(warmup, "_waiter", lambda: lambda _: None)
    printed = warm("--minutes", "2", "--click", "bell")
    assert "Click: on the screen only; not by bell: there is no terminal." in printed
    assert "\a" not in printed


def test_the_tempo_is_never_above_what_was_clean_lately(warm: Callable[..., str], tmp_path: Path) -> None:
    practised(tmp_path, 24, landed=4, days_ago=0)
    practised(tmp_path, 38, landed=3, days_ago=0)
    tempos = [part["tempo"] for part in document(warm("--json"))["parts"] if part["drill"] == "warm-slides"]
    assert tempos
    assert max(tempos) <= 24


def test_days_off_make_it_gentler(warm: Callable[..., str], tmp_path: Path) -> None:
    def top() -> float:
        return max(part["load"] or 0.0 for part in document(warm("--json", "--minutes", "20"))["parts"])

    fresh = top()
    practised(tmp_path, 40, landed=4, days_ago=30)
    assert top() < fresh


def test_an_easy_warm_up_has_no_drill_with_a_stretch_or_a_barre(warm: Callable[..., str]) -> None:
    easy = {part["drill"] for part in document(warm("--json", "--easy", "--hand", "child", "--minutes", "20"))["parts"]}
    assert "warm-chords" in easy
    assert not easy & {"stretch", "full-barre", "hinge"}


def test_a_log_that_cannot_be_read_keeps_nobody_from_warming_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "practice.sqlite3").write_bytes(b"no database at all" * 100)
    assert main(["warmup", "--plan"]) == 0
    printed = capsys.readouterr()
    assert "Done." in printed.out
    assert printed.err.count("\n") == 1


@pytest.mark.parametrize(
    "words", [["--click", "drum"], ["--minutes", "1"], ["--minutes", "31"], ["--minutes", "x"], ["--plan", "--json"]]
)
def test_bad_words_are_one_line_and_exit_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["warmup", *words])
    assert ended.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1
