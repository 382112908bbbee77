"""`changeover finger`: the best fingerings as text and as JSON, pins, aims, and what it says of bad input."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from trainer.cli import main
from trainer.files.library import find
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import print_shape


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["finger", *words, "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def test_text_shows_each_change_with_its_shape_and_reasons(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["finger", "C", "F", "--alternatives", "1"]) == 0
    out = capsys.readouterr().out
    assert "x 3/3 2/2 0 1/1 0" in out
    assert "1/1 3/3 3/4 2/2 1/1 1/1" in out
    assert "no way is better" in out
    assert "lays a barre by 1 at I" in out
    assert "way 2: cost" in out


def test_json_holds_what_others_rely_on(capsys: pytest.CaptureFixture[str]) -> None:
    document = _json(capsys, "guide-1", "--alternatives", "2")
    assert document["exact"] is True
    assert document["notes"][0] == {"bar": 1, "onset": "0", "midi": 45, "string": 5, "fret": 0, "finger": 0}
    assert {"onset", "string", "fret", "finger"} == set(document["resting"][0])
    assert [change["onset"] for change in document["changes"]] == ["0", "4", "8", "12"]
    assert sum(change["cost"] for change in document["changes"]) == pytest.approx(document["cost"], abs=0.01)
    for other in document["alternatives"]:
        assert other["differs"]
        assert len(other["notes"]) == len(document["notes"])
        assert other["cost"] >= document["cost"]


def test_a_barre_in_json_lasts_from_its_laying_to_its_raising(capsys: pytest.CaptureFixture[str]) -> None:
    document = _json(capsys, "Em", "3/1 5/3 5/4 4/2 3/1 3/1", "Em", "--keep", "fingers", "--alternatives", "0")
    assert document["barres"] == [
        {"fret": 3, "finger": 1, "low_string": 6, "high_string": 1, "from_onset": "4", "to_onset": "8"}
    ]


def test_a_pin_is_kept_and_costs(capsys: pytest.CaptureFixture[str]) -> None:
    free, pinned = _json(capsys, "C", "G7"), _json(capsys, "C", "G7", "--pin", "1:4")
    assert pinned["notes"][0]["finger"] == 4
    assert pinned["cost"] >= free["cost"]
    moved = _json(capsys, "C", "G7", "--keep", "pitches", "--pin", "1:s6")
    assert moved["notes"][0]["string"] == 6
    assert moved["notes"][0]["fret"] == 8


def test_the_worst_as_aim_counts_the_dearest_change(capsys: pytest.CaptureFixture[str]) -> None:
    whole, worst = (_json(capsys, "guide-1", "--aim", aim) for aim in ("sum", "worst"))
    dearest = [max(change["cost"] for change in document["changes"]) for document in (whole, worst)]
    assert worst["cost"] == pytest.approx(dearest[1], abs=0.001)
    assert dearest[1] <= dearest[0]


def test_the_chosen_fingering_is_written_as_a_drill(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    assert main(["finger", "C", "F", "-o", str(path)]) == 0
    assert [print_shape(step.shape) for step in find(str(path)).steps] == [STOCK["C"], STOCK["F"]]
    assert main(["finger", "C", "F", "-o", str(path)]) == 2
    assert f"{path}: is there already (choose another name, or say --force)" in capsys.readouterr().err


BAD = (
    (("C", "F", "--pin", "99:1"), "no note 99"),
    (("C", "F", "--pin", "x"), "'x' sets nothing"),
    (("C", "F", "--pin", "1:2", "--pin", "1:3"), "note 1 is set twice (give one finger for it)"),
    (("C", "F", "--pin", "1:9"), "by finger 9"),
    (("C", "F", "--pin", "1:9"), "changeover: --pin: "),
    (("C", "F", "--pin", "1:s9"), "changeover: --pin: "),
    (("C", "F", "--alternatives", "11"), "11 other ways"),
    (("C", "F", "--bars", "1-2"), "--bars: not of a drill"),
    (("C", "F", "--played"), "--played: not of a drill"),
    (("nothing-such",), "nothing-such"),
)


@pytest.mark.parametrize(("words", "said"), BAD)
def test_bad_input_is_one_line_and_exit_2(
    words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["finger", *words]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_what_cannot_be_fingered_is_said_with_exit_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["finger", "C", "F", "--pin", "6:1", "--pin", "7:1", "--pin", "8:1"]) == 1
    err = capsys.readouterr().err
    assert "bar 2, quarter 5" in err
    assert "what is set cannot be held together" in err
