"""What the log teaches of a hand, as `progress` tells it and as `finger --hand mine` uses it."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

from tests.practice.timemodel.player import CHANGES, COSTS, KIND, Player
from trainer.cli import main
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run
from trainer.practice.timemodel.features import COEFFICIENTS
from trainer.practice.timemodel.model import ENOUGH


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path / "data" / "practice.sqlite3"


def practise(path: Path, changes: int, **costs: float) -> None:
    """Write the tries of a player to whom barres are dear and the air is cheap, or what else is given."""
    player = Player(random.Random(11), COSTS | {"laid": 0.5, "place": 0.0, "cross": 0.02} | costs)
    with Log.open(path) as log:
        log.begin(Run("run", "Drill", 0.0, KIND.timing))
        receipts = [
            log.add(
                Attempt(
                    f"{key} {number}",
                    "run",
                    key,
                    1000.0 + number,
                    KIND.timing,
                    KIND.source,
                    player.time(key, vector, number + 1),
                )
            )
            for key, vector in player.chance.sample(CHANGES, changes)
            for number in range(12)
        ]
        assert {receipt.result() for receipt in receipts} == {None}


def run(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(list(words)) == 0
    return capsys.readouterr().out


def document(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run(capsys, *words, "--json"))
    return found


def test_progress_tells_what_costs_most_and_how_intervals_held(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    practise(log, 60)
    head, *costs, trusted = run(capsys, "progress").partition("\n\n")[2].splitlines()
    assert head.startswith(
        "What costs your hand most, learned from 60 changes, two presses from keys; its usual change"
    )
    assert costs[0].startswith("  laying a barre adds about ")
    assert trusted.startswith("  80 % intervals held ")
    assert trusted.endswith(" % of 60 changes left out")
    hand = document(capsys, "progress")["hand"]
    assert (hand["enough"], hand["changes"], hand["left_out"]) == (True, 60, 60)
    assert 0.6 * 60 <= hand["held"] <= 60
    assert len(hand["costs"]) == len(costs)
    for cost in hand["costs"]:
        assert cost["of"].keys() <= set(COEFFICIENTS)
        assert cost["low_ms"] < cost["ms"] < cost["high_ms"]
        assert cost["low_ms"] > 0 or cost["high_ms"] < 0


def test_a_drill_alone_says_nothing_of_the_hand(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    practise(log, 14)
    assert "costs your hand" not in run(capsys, "progress", "--drill", "Drill")


def test_before_there_is_enough_it_says_how_far_it_is(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    practise(log, ENOUGH - 1)
    assert f"not enough yet: {ENOUGH - 1} changes" in run(capsys, "progress")
    hand = document(capsys, "progress")["hand"]
    assert (hand["enough"], hand["costs"], hand["left_out"], hand["usual_ms"]) == (False, [], None, None)


def shapes(found: dict[str, Any]) -> list[tuple[int, int, int]]:
    return [(note["string"], note["fret"], note["finger"]) for note in found["notes"]]


def test_own_weights_finger_a_passage_as_this_hand_is_quickest(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    practise(log, 60)
    any_hand, mine = (document(capsys, "finger", "C", "Dm7", "--hand", hand) for hand in ("adult", "mine"))
    assert any_hand["barres"]
    assert mine["barres"] == []
    assert shapes(mine) != shapes(any_hand)
    assert mine["said"] == ["your own weights, learned from 60 changes, two presses from keys"]
    assert any_hand["said"] == []
    assert "note: your own weights, learned from 60 changes" in run(capsys, "finger", "C", "Dm7", "--hand", "mine")


@pytest.mark.parametrize("changes", [0, ENOUGH - 1])
def test_without_enough_the_plain_weights_are_used_and_it_is_said(
    log: Path, capsys: pytest.CaptureFixture[str], changes: int
) -> None:
    if changes:
        practise(log, changes)
    any_hand, mine = (document(capsys, "finger", "C", "Dm7", "--hand", hand) for hand in ("adult", "mine"))
    assert shapes(mine) == shapes(any_hand)
    (said,) = mine["said"]
    assert said.startswith(f"not enough yet: {changes} changes")
    assert said.endswith("so the weights are those of any hand")


def test_another_school_keeps_its_weights(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    practise(log, 60)
    theirs, mine = (
        document(capsys, "finger", "C", "Dm7", "--school", "editions", "--hand", hand) for hand in ("adult", "mine")
    )
    assert (mine["cost"], shapes(mine)) == (theirs["cost"], shapes(theirs))
    assert mine["said"] == ["your own reach, the weights of editions"]


def test_a_log_that_cannot_be_read_is_one_line_and_exit_2(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log.parent.mkdir(parents=True)
    log.write_bytes(b"no database at all, but long enough to be looked at" * 40)
    assert main(["finger", "C", "Dm7", "--hand", "mine"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
