"""Where files live: by the system's habits, or all in one folder."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.files import paths

USER = (
    paths.config_dir,
    paths.data_dir,
    paths.drills_dir,
    paths.themes_dir,
    paths.takes_dir,
    paths.settings_file,
    paths.log_file,
)


def test_one_variable_moves_every_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    assert [str(find().relative_to(tmp_path)) for find in USER] == [
        ".",
        "data",
        "drills",
        "themes",
        "takes",
        "settings.toml",
        os.path.join("data", "practice.sqlite3"),
    ]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform != "linux", reason="the names of other systems' folders are platformdirs' business")
def test_without_it_files_lie_where_the_desktop_standard_says(monkeypatch: pytest.MonkeyPatch) -> None:
    # XDG Base Directory Specification: $XDG_CONFIG_HOME and $XDG_DATA_HOME, here moved to be sure of them.
    monkeypatch.delenv("CHANGEOVER_HOME", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", "/somewhere/config")
    monkeypatch.setenv("XDG_DATA_HOME", "/somewhere/data")
    assert [str(find()) for find in USER] == [
        "/somewhere/config/changeover",
        "/somewhere/data/changeover",
        "/somewhere/config/changeover/drills",
        "/somewhere/config/changeover/themes",
        "/somewhere/data/changeover/takes",
        "/somewhere/config/changeover/settings.toml",
        "/somewhere/data/changeover/practice.sqlite3",
    ]


def test_an_empty_variable_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CHANGEOVER_HOME", raising=False)
    expected = [find() for find in USER]
    monkeypatch.setenv("CHANGEOVER_HOME", "")
    assert [find() for find in USER] == expected


def test_a_home_is_found_from_the_tilde_and_made_absolute(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/ada")
    monkeypatch.setenv("CHANGEOVER_HOME", "~/practice")
    assert paths.settings_file() == Path("/home/ada/practice/settings.toml")
    monkeypatch.setenv("CHANGEOVER_HOME", "practice")
    assert paths.config_dir() == Path.cwd() / "practice"
    monkeypatch.setenv("CHANGEOVER_HOME", "~nobody-of-that-name/practice")
    assert paths.config_dir().is_absolute()


@pytest.mark.parametrize("kind", ["drills", "themes"])
def test_what_ships_is_found_in_a_checkout(kind: str) -> None:
    folder = paths.shipped("drills" if kind == "drills" else "themes")
    assert folder.is_dir()
    assert folder.name == kind


def test_what_ships_is_found_inside_an_installed_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "trainer"
    (package / "shipped" / "themes").mkdir(parents=True)
    monkeypatch.setattr(paths, "__file__", str(package / "files" / "paths.py"))
    assert paths.shipped("themes") == (package / "shipped" / "themes").resolve()
    assert paths.shipped("drills") == (tmp_path / "drills").resolve()


def test_importing_costs_nothing_and_a_home_needs_no_platformdirs() -> None:
    script = (
        "import sys\n"
        "from trainer.files import paths\n"
        "paths.settings_file()\n"
        "assert not {'platformdirs', 'tomlkit', 'textual', 'numpy'} & set(sys.modules)\n"
    )
    environment = {**os.environ, "CHANGEOVER_HOME": "/somewhere", "PYTHONPATH": str(Path(__file__).parents[2])}
    subprocess.run([sys.executable, "-c", script], check=True, env=environment)
