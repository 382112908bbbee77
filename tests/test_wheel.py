"""The wheel, installed into an empty virtual environment of this Python and of the newest one there is."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.terminal.person import Terminal

ROOT = Path(__file__).parent.parent
NEWER = ("3.14", "3.13", "3.12")


def _runs(python: str) -> bool:
    try:
        tried = subprocess.run([python, "-c", "import venv, ensurepip"], capture_output=True, check=False)
        return tried.returncode == 0
    except OSError:
        return False


def _pythons() -> list[str]:
    """Return this Python and the newest other one that the machine has."""
    versions = Path.home() / ".pyenv" / "versions"
    found = (
        candidate
        for version in NEWER
        for candidate in (f"python{version}", *map(str, versions.glob(f"{version}.*/bin/python")))
    )
    newest = next((python for python in found if _runs(python)), None)
    return [sys.executable, *([newest] if newest is not None else [])]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(ROOT)]
    subprocess.run(build, check=True, capture_output=True)
    (built,) = folder.glob("changeover-*.whl")
    return built


@pytest.fixture(scope="module", params=_pythons())
def installed(request: pytest.FixtureRequest, wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the command `changeover` as the wheel brings it, in an environment that has nothing else."""
    environment = tmp_path_factory.mktemp("installed") / "venv"
    subprocess.run([request.param, "-m", "venv", "--without-pip", environment], check=True, capture_output=True)
    # This Python's pip installs into it: one less to install first.
    into = [sys.executable, "-m", "pip", "--python", str(environment), "install", "--quiet", "--no-compile"]
    subprocess.run([*into, str(wheel)], check=True, capture_output=True)
    return environment / "bin" / "changeover"


def test_an_installed_wheel_explains_a_shipped_drill(installed: Path, tmp_path: Path) -> None:
    # Away from the checkout, so that nothing but the wheel can be imported.
    clean = {"HOME": str(tmp_path), "PATH": os.environ["PATH"], "CHANGEOVER_HOME": str(tmp_path / "home")}
    explained = subprocess.run(
        [installed, "explain", "first-change", "--json"],
        check=True,
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=clean,
    )
    document = json.loads(explained.stdout)
    assert document["title"]
    assert len(document["changes"]) >= 2
    assert all(change["words"] for change in document["changes"])


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ((), "start here"),
        (("drill", "first-change", "--mode", "presses"), "when your fingers leave"),
        (("drill", "first-change", "--room"), "space play"),
    ],
)
def test_an_installed_wheel_opens_the_app(installed: Path, words: tuple[str, ...], shown: str, tmp_path: Path) -> None:
    """Each way in is a first screen, and newer Pythons begin Textual's tasks in another order."""
    with Terminal(tmp_path / "home", program=[str(installed)]) as terminal:
        terminal.run(*words)
        terminal.shows(shown)
        terminal.key("C-c")
        assert terminal.ended() == 0
