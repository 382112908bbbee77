"""`changeover where` prints each place once, and whether it is there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trainer.cli import main


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    return tmp_path


def test_json_names_every_place(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (home / "drills").mkdir()
    assert main(["where", "--json"]) == 0
    places = json.loads(capsys.readouterr().out)
    assert {name: place["path"] for name, place in places.items() if not name.startswith("shipped")} == {
        "settings": str(home / "settings.toml"),
        "guitars": str(home / "guitars.toml"),
        "drills": str(home / "drills"),
        "themes": str(home / "themes"),
        "classes": str(home / "classes"),
        "log": str(home / "data" / "practice.sqlite3"),
        "kept": str(home / "data" / "kept.toml"),
        "takes": str(home / "takes"),
    }
    assert {name: place["exists"] for name, place in places.items()} == {
        "settings": False,
        "guitars": False,
        "drills": True,
        "themes": False,
        "classes": False,
        "log": False,
        "kept": False,
        "takes": False,
        "shipped_drills": True,
        "shipped_themes": True,
    }
    assert list(home.iterdir()) == [home / "drills"], "looking makes nothing"


def test_text_says_what_is_not_there_yet(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (home / "settings.toml").touch()
    assert main(["where"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"settings          {home}/settings.toml"
    assert lines[2] == f"your drills       {home}/drills  (not there yet)"
    assert len(lines) == 10


def test_a_name_that_is_no_utf8_or_steers_the_terminal_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "caf\udce9\x1b[31m"))
    assert main(["where"]) == 0
    assert f"{tmp_path}/caf··[31m/settings.toml" in capsys.readouterr().out
    assert main(["where", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["settings"]["path"] == f"{tmp_path}/caf?\x1b[31m/settings.toml"
