"""What is installed only with an extra, and is not: whoever needs it is told in one line how to get it.

Each time the package's import fails in the process under test, as where it was never installed.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faults.programs import ROOT, WAITS_S, refused
from tests.terminal.person import Terminal

WITHOUT = """
import sys
sys.modules[{missing!r}] = None
from trainer.cli import main
sys.exit(main())
"""
"""Python takes None for a module that is not there."""
SOUND = "no sound without miniaudio (pip install 'changeover[sound]')"


def without(missing: str) -> tuple[str, ...]:
    """Return `changeover` as a program that lacks a package."""
    return (sys.executable, "-c", WITHOUT.format(missing=missing))


@pytest.mark.parametrize(
    ("missing", "words", "told"),
    [
        ("textual_serve", "serve", "no browsers without textual-serve (pip install 'changeover[serve]')"),
        ("textual_serve", "serve C F --seats 3 --host 0.0.0.0", "pip install 'changeover[serve]'"),
        ("rtmidi", "hear C F --port any", "which is not installed (install Changeover with the extra 'midi'"),
    ],
)
def test_a_command_that_cannot_do_without_it_is_refused(tmp_path: Path, missing: str, words: str, told: str) -> None:
    done = subprocess.run(
        [*without(missing), *words.split()],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=WAITS_S,
        check=False,
        cwd=ROOT,
        env={**os.environ, "CHANGEOVER_HOME": str(tmp_path)},
    )
    assert told in refused(done)


def test_a_warm_up_without_sound_says_so_and_goes_on(tmp_path: Path) -> None:
    with subprocess.Popen(
        [*without("miniaudio"), "warmup", "--click"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "CHANGEOVER_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"},
    ) as warming:
        try:
            assert warming.stdout is not None
            line = next(line for line in warming.stdout if line.startswith("Click: "))
            assert f"not by sound: {SOUND}" in line
            warming.send_signal(signal.SIGINT)
            _, error = warming.communicate(timeout=WAITS_S)
            assert "Traceback" not in error
        finally:
            warming.kill()


def said(rows: list[str]) -> str:
    """Return the screen as one text, its lines joined."""
    return " ".join(" ".join(rows).split())


@pytest.mark.parametrize("size", [(80, 24), (60, 20)], ids=["usual", "smallest"])
def test_every_screen_that_would_sound_says_what_to_install(tmp_path: Path, size: tuple[int, int]) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('format = 1\nclick = "sound"\n')
    with Terminal(home, size, without("miniaudio")) as terminal:
        terminal.run("drill", "C", "F", "--mode", "presses")
        terminal.shows("when your fingers leave C")
        terminal.key("s")
        # Of the click it is told once, and which of the two comes last is up to the threads that try.
        terminal.until(lambda rows: f": {SOUND}." in said(rows), "no sound")
        terminal.key("s")
        terminal.until(lambda rows: f"No chord can sound: {SOUND}." in said(rows), "no chord")
        terminal.key("q")
        assert terminal.ended() == 0
    with Terminal(home, size, without("miniaudio")) as terminal:
        terminal.run()
        terminal.shows("Changeover", "starts")
        terminal.key("s")
        terminal.shows("Settings", "theme")
        terminal.key("c")
        terminal.until(lambda rows: f"No click can sound: {SOUND}." in said(rows), "nothing to measure")
        terminal.key("q")
        assert terminal.ended() == 0
