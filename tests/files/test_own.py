"""Drills kept by the player: a new file each, named after the title, none written over and none hidden."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.errors import ChangeoverError
from trainer.files import paths
from trainer.files.drills import load
from trainer.files.names import file_name
from trainer.files.own import keep
from trainer.practice.drill import Drill
from trainer.practice.quick import from_shapes


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    return tmp_path


def drill(title: str) -> Drill:
    made = from_shapes(["Em", "Am"])
    return Drill(title, made.steps, instrument=made.instrument)


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Étude in E, bars 5 to 8", "etude-in-e-bars-5-to-8"),
        ("../../etc/passwd", "etc-passwd"),
        ("音楽", "drill"),
        ("C#m7 / G", "c-m7-g"),
        ("a" * 100, "a" * 60),
    ],
)
def test_a_title_becomes_a_name_that_every_system_takes(title: str, name: str) -> None:
    assert file_name(title) == name


def test_a_drill_is_kept_beside_others_of_its_name() -> None:
    first, second = keep(drill("Two chords")), keep(drill("Two chords"))
    assert [path.name for path in (first, second)] == ["two-chords.toml", "two-chords-2.toml"]
    assert load(second) == (drill("Two chords"), ())
    assert first.parent == paths.drills_dir()


def test_what_lies_there_is_left_alone_even_a_link_that_leads_nowhere() -> None:
    folder = paths.drills_dir()
    folder.mkdir(parents=True)
    (folder / "two-chords.toml").write_text("mine")
    (folder / "two-chords-2.toml").symlink_to(folder / "gone")
    assert keep(drill("Two chords")).name == "two-chords-3.toml"
    assert (folder / "two-chords.toml").read_text() == "mine"
    assert not (folder / "gone").exists()


def test_no_shipped_drill_is_hidden() -> None:
    assert (paths.shipped("drills") / "first-change.toml").exists()
    assert keep(drill("First change")).name == "first-change-2.toml"


def test_a_folder_that_is_none_is_told_in_a_line(home: Path) -> None:
    (home / "drills").write_text("a file")
    with pytest.raises(ChangeoverError, match="cannot be written"):
        keep(drill("Two chords"))
