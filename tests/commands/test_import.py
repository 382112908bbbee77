"""`changeover import`: what is printed, what is written, and a score wherever a drill is taken."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.scores.building import DATA, HEAD, document, measure, note, packed
from trainer.cli import main
from trainer.files.drills import load

TABS = DATA / "lilypond-suite" / "71e-TabStaves.xml"


@pytest.fixture
def score(tmp_path: Path) -> Path:
    bars = [
        measure(note("C3", 16, string=5, fret=3, finger=3) + note("E4", 16, string=1, fret=0, chord=True), 1, HEAD),
        measure(note("D3", 16, string=4, fret=0) + note("F4", 16, string=1, fret=1, chord=True) + "<figured-bass/>", 2),
        measure(note("E3", 16, string=4, fret=2) + note("E4", 16, string=1, fret=0, chord=True), 3),
    ]
    path = tmp_path / "piece.musicxml"
    path.write_text(document(*bars), encoding="utf-8")
    return path


def test_says_what_was_understood_and_what_was_not_and_writes_a_sound_drill(
    score: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "drill.toml"
    assert main(["import", str(score), "--bars", "1-2", "-o", str(target)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "A score, bars 1 to 2"
    assert lines[1] == "understood: fingering 1, fret 6, meter 1, notes 6, string 6"
    assert "not understood: figured-bass in bar 2" in lines
    assert lines[-1] == f"written to {target}"
    drill, problems = load(target)
    assert drill is not None
    assert problems == ()
    assert len(drill.steps) == 2
    assert drill.steps[0].note == "Bar 1."


def test_never_writes_over_a_file_unless_told_to(
    score: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "drill.toml"
    target.write_text("mine")
    assert main(["import", str(score), "-o", str(target)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert target.read_text() == "mine"
    assert main(["import", str(score), "-o", str(target), "--force"]) == 0
    assert target.read_text().startswith("# A drill")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["drill.toml", "piece.musicxml"]


def test_json_says_it_all(score: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", str(score), "--bars", "2-3", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["bars"] == ["2", "3"]
    assert said["not_understood"] == [{"bar": "2", "what": "figured-bass", "count": 1, "line": 1}]
    assert said["tuning"] == ["E2", "A2", "D3", "G3", "B3", "E4"]
    assert [shape["beats"] for shape in said["shapes"]] == ["4", "4"]
    assert [(n["midi"], n["string"], n["fret"]) for n in said["notes_struck"]] == [
        (50, 4, 0),
        (65, 1, 1),
        (52, 4, 2),
        (64, 1, 0),
    ]
    assert [n["ours"] for n in said["notes_struck"]] == [False, True, True, False]
    assert said["drill"] is None


def test_a_part_is_chosen_by_number_or_name_and_wrong_ones_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", str(TABS), "--part", "3"]) == 0
    assert "tuning D2 A2 D3 F#3 A3 E4" in capsys.readouterr().out
    assert main(["import", str(TABS), "--part", "bagpipe"]) == 2
    assert "no part is called 'bagpipe' (there are 1 Guitar, 2 Guitar" in capsys.readouterr().err


@pytest.mark.parametrize("ending", [".musicxml", ".mxl", ".xml"])
def test_a_score_serves_wherever_a_drill_does(
    ending: str, score: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / f"copy{ending}"
    path.write_bytes(packed("s.xml", score.read_bytes()) if ending == ".mxl" else score.read_bytes())
    assert main(["explain", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("A score, bars 1 to 3")
    assert main(["export", str(path), "-o", str(tmp_path / "out.mid")]) == 0
    capsys.readouterr()
    assert main(["explain", str(tmp_path / "out.mid")]) == 0
    assert "->" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["missing.mxl"], ["nowhere/x.mid"]])
def test_a_missing_score_is_one_line(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", *words]) == 2
    assert capsys.readouterr().err == f"changeover: {words[0]}: there is no such file (look at the spelling)\n"


def test_a_place_that_is_none_is_told(score: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--split", "9:1"], ["--join", "1:x"], ["--bars", "7"], ["--voice", "9"]):
        assert main(["import", str(score), *words]) == 2
        assert words[0] in capsys.readouterr().err
