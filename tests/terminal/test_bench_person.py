"""A person at the fingering bench in a real terminal: hesitates, sets, compares, takes a way over, undoes, quits."""

from __future__ import annotations

import time
from collections.abc import Iterator
from itertools import cycle, islice
from pathlib import Path

import pytest

from tests.terminal.person import Terminal

HESITATES_S = 0.4
"""Longer than the bench waits for another key before it looks for ways."""
FOUND = "drills this way"
NAMES = ("Am", "C", "D7", "G")
LONG = 480
"""Shapes that take a search many seconds."""
LEFT_S = 5.0
"""How soon the program is gone whatever it is looking for; a search of `LONG` shapes takes longer."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    (home / "drills").mkdir(parents=True)
    shapes = "".join(f'\n[[shapes]]\nshape = "{name}"\n' for name in islice(cycle(NAMES), LONG))
    (home / "drills" / "long.toml").write_text(f'format = 1\ntitle = "Four chords for long"\n{shapes}')
    return home


@pytest.fixture
def terminal(home: Path) -> Iterator[Terminal]:
    with Terminal(home) as opened:
        yield opened


def gone(terminal: Terminal, text: str) -> None:
    terminal.until(lambda rows: not any(text in row for row in rows), f"no longer {text}")


def test_ways_are_compared_set_taken_over_and_given_back(terminal: Terminal, home: Path) -> None:
    terminal.run("drill", *NAMES)
    terminal.shows("change 1 of", "Am")
    terminal.key("f")
    terminal.shows(FOUND, "[Am]", "shape 1 of 4", "1 written", "2 best")
    time.sleep(HESITATES_S)  # the person looks at it, and nothing comes of that
    terminal.shows(FOUND, "[Am]", "▸1 written")
    terminal.key("Right")
    terminal.shows("[C]", "3 crosses from string 3 to string 5")
    terminal.resize(60, 20)
    terminal.shows("any hand", "[C]", "▸1 written", FOUND)
    gone(terminal, "4 other")
    terminal.key("z")  # means nothing here
    terminal.key("Space")
    terminal.shows("[D7]")
    terminal.resize(80, 24)
    terminal.shows("4 other", "nothing set")
    terminal.key("p")
    terminal.shows("4 notes set ■", "1 written")
    terminal.key("2")
    terminal.shows("▸2 best")
    terminal.key("n")
    terminal.shows("[G]", FOUND)
    terminal.key("Enter")
    terminal.shows("refingered", "change 1 of")
    terminal.key("Escape")
    terminal.shows("1 taken", "4 notes set")
    terminal.key("u")
    terminal.shows("1 written", "4 notes set")
    terminal.key("u")
    terminal.shows("nothing set")
    terminal.key("u")
    terminal.shows("Nothing to undo.")
    terminal.key("Escape")
    terminal.shows("change 1 of")
    terminal.key("q")
    assert terminal.ended() == 0
    assert not terminal.modes()["alternate screen"]
    assert not list(home.glob("drills/am*"))  # nothing was kept that was not asked for


@pytest.mark.parametrize("key", ["q", "C-c"])
def test_quitting_in_the_middle_of_a_search_ends_in_order(terminal: Terminal, key: str) -> None:
    terminal.run("drill", "long")
    terminal.shows("Four chords for long")
    terminal.key("f")
    terminal.shows(f"Looking for ways through {LONG} shapes", "ESC leaves")
    time.sleep(HESITATES_S)  # by now it is at work
    began = time.monotonic()
    terminal.shows("Looking for ways")
    terminal.key(key)
    assert terminal.ended() == 0
    assert time.monotonic() - began < LEFT_S
    assert not terminal.modes()["alternate screen"]
    assert not any("Traceback" in row or "Error" in row for row in terminal.screen())
