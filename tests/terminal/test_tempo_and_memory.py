"""A person at a real terminal: a tempo ladder to its target and down again, and a run from memory with a miss."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.terminal.person import Terminal
from trainer.files import kept
from trainer.practice.recall import Stage

TITLE = "There and back"
DRILL = f"""format = 1
title = "{TITLE}"
tempo = 240

[[shapes]]
shape = "Em"
beats = 1

[[shapes]]
shape = "Am"
beats = 1
"""
HELD_S = 0.1
"""Longer than the program takes a key at the end of a run for one that is still held."""
CHANGES = 4
"""Changes of a run: twice there and back."""
BOARD = "[ 1 ]"
"""How the board shows finger 1 where it is to land."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    (home / "drills").mkdir(parents=True)
    (home / "drills" / "there.toml").write_text(DRILL)
    return home


@pytest.fixture
def terminal(home: Path) -> Iterator[Terminal]:
    with Terminal(home) as opened:
        yield opened


def logged(home: Path) -> list[dict[str, Any]]:
    """Return every series that `changeover progress` tells of."""
    told = subprocess.run(
        [sys.executable, "-m", "trainer.cli", "progress", "--json", "--limit", "1000"],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        cwd=Path(__file__).parents[2],
    )
    return list(json.loads(told.stdout)["changes"])


def test_a_ladder_reaches_its_target_and_steps_down_after_misses(terminal: Terminal, home: Path) -> None:
    terminal.run("drill", "there", "--mode", "paced", "--tempo", "240")
    terminal.shows("SPACE", "to the beat at 240")
    terminal.key("l")
    terminal.shows("target 240 below")
    for answer, says in ((4, "Next at 240"), (4, "The target of 240 is reached"), (2, "2 of 4 landed. Next at 2")):
        terminal.key("Space")
        terminal.shows("how many of 4 landed?")
        terminal.key(str(answer))
        terminal.shows(says)
    terminal.until(lambda rows: any("now 2" in row and "now 240" not in row for row in rows), "a slower tempo")
    terminal.key("q")
    assert terminal.ended() == 0
    assert kept.load(home / "data" / "kept.toml")[0].targets == {TITLE: 240.0}


def play(terminal: Terminal, number: int) -> None:
    terminal.shows(f"change {number} of {CHANGES}", "when your fingers leave")
    terminal.key("j")
    terminal.shows("the clock stops")
    terminal.key("k")


def test_shapes_are_hidden_as_they_are_known_and_shown_again_after_a_miss(terminal: Terminal, home: Path) -> None:
    """Three clean and the board of the shape to come is gone; one that was not clean brings it back."""
    terminal.run("drill", "there", "--mode", "presses")
    terminal.shows("change 1 of", BOARD)
    terminal.key("h")
    terminal.shows("From memory")
    for _ in range(2):
        for number in range(1, CHANGES + 1):
            play(terminal, number)
        terminal.shows("run over", "plays on")
        time.sleep(HELD_S)
        terminal.key("Space")
    terminal.until(
        lambda rows: any("change 1 of" in row for row in rows) and not any(BOARD in row for row in rows),
        "the shape to come without its board",
    )
    play(terminal, 1)
    terminal.shows("change 2 of", "when your fingers leave")
    terminal.key("u")
    terminal.key("q")
    assert terminal.ended() == 0
    (memory,) = kept.load(home / "data" / "kept.toml")[0].memory.values()
    assert Stage.HIDDEN in {shape.stage for shape in memory.shapes}
    assert Stage.BOARD in {shape.stage for shape in memory.shapes}
    assert {series["how"] for series in logged(home)} == {"read", "recalled"}
