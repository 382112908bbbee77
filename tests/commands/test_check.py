"""`changeover check`: what kind each file is, every problem at once, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trainer.cli import main
from trainer.files.paths import shipped

DRILL = 'title = "Two"\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n'


def write(tmp_path: Path, name: str, text: str) -> str:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_everything_that_ships_is_sound(capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(path) for kind in ("drills", "themes") for path in sorted(shipped(kind).glob("*.toml"))]  # type: ignore[arg-type]  # both words are kinds
    assert len(files) >= 14 + 5
    assert main(["check", *files]) == 0
    assert capsys.readouterr().out.count(": a sound ") == len(files)


def test_all_problems_of_a_file_are_told_with_line_and_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = write(tmp_path, "bad.toml", 'titel = "Two"\ntempo = "fast"\n[[shapes]]\nshape = "x 3/3 2/3 0 1/1 0"\n')
    assert main(["check", bad]) == 1
    out = capsys.readouterr().out
    assert f"{bad}:1: titel: is not a key known here (did you mean 'title'?)" in out
    assert f"{bad}:2: tempo: " in out
    assert f"{bad}:4: shapes[1].shape: finger 3 is at fret 3 and, on string 4, at fret 2" in out


def test_a_drill_a_theme_and_settings_are_told_apart(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drill = write(tmp_path, "drill.toml", DRILL)
    theme = str(sorted(shipped("themes").glob("*.toml"))[0])
    settings = write(tmp_path, "settings.toml", 'hand = "small"\n')
    assert main(["check", "--json", drill, theme, settings]) == 0
    found = json.loads(capsys.readouterr().out)["files"]
    assert [one["kind"] for one in found] == ["drill", "theme", "settings"]
    assert all(one["problems"] == [] for one in found)


def test_a_missing_file_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "none.toml")]) == 2
    assert "none.toml: there is no such file" in capsys.readouterr().err


def test_a_stretch_is_a_warning_for_the_hand_it_stretches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wide = write(tmp_path, "wide.toml", DRILL + '[[shapes]]\nshape = "x x x 5/4 x 1/1"\n')
    assert main(["check", wide]) == 0
    assert main(["check", "--hand", "child", wide]) == 1
    out = capsys.readouterr().out
    assert "warning: " in out
    assert "never force a stretch" in out
