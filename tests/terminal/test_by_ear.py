"""A scripted player plays a guitar into the app in a real terminal: found, logged near the sends, lost and heard again.

The guitar is a process of its own on JACK's dummy driver, 64 frames at 48 kHz, and says when it really sent what.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from tests.listen.building import AM, D7, C, G, Playing
from tests.listen.jack import PERIOD_S, ScriptedGuitar, environment
from tests.listen.sending import sent
from tests.terminal.person import Terminal
from trainer.files.guitars import Guitar, save
from trainer.practice.wiring import Wiring, in_order

SHAPES = (AM, C, D7, G)
NAMES = ("Am", "C", "D7", "G")
ROUNDS = 5
EVERY_S = 0.3
LET_GO_S = 0.05
NAME = "Demo guitar"
NOTICED_S = 2.0


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    given = Guitar(Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0)), measured=date(2026, 3, 14))
    save(home / "guitars.toml", f"{NAME}:strings", given)
    return home


@pytest.fixture
def terminal(home: Path) -> Iterator[Terminal]:
    with Terminal(home) as terminal:
        yield terminal


def strums(first: int, count: int) -> list[tuple[float, bytes]]:
    """Return the messages of `count` shapes of the ring, from the shape with number `first` on."""
    playing = Playing()
    for number in range(count):
        at = number * EVERY_S
        playing.shape(at, SHAPES[(first + number) % len(SHAPES)], off=at + EVERY_S - LET_GO_S, apart=0.003)
    return sent(playing.events)


def last_onsets(sent_at: list[float], messages: list[tuple[float, bytes]]) -> list[float]:
    """Return when the last string of each shape was sent."""
    found: dict[int, float] = {}
    for at, (planned, data) in zip(sent_at, messages, strict=True):
        if data[0] & 0xF0 == 0x90:
            found[int(planned / EVERY_S + 1e-6)] = at
    return [found[number] for number in sorted(found)]


def logged(home: Path) -> list[dict[str, Any]]:
    told = subprocess.run(
        [sys.executable, "-m", "trainer.cli", "progress", "--json", "--limit", "1000"],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        cwd=Path(__file__).parents[2],
    )
    found = [attempt for change in json.loads(told.stdout)["changes"] for attempt in change["attempts"]]
    return sorted(found, key=lambda attempt: str(attempt["at"]))


def test_drills_are_played_by_ear_and_the_guitar_may_go_and_come(terminal: Terminal, home: Path, jack: str) -> None:
    with ScriptedGuitar(NAME) as guitar:
        terminal.run("drill", *NAMES, "--port", "demo", **environment(jack))
        terminal.shows(NAME, "by ear", "change 1 of 8")
        messages = strums(0, len(SHAPES) * ROUNDS + 1)
        wall = time.time() - time.monotonic()
        landings = last_onsets(guitar.play(messages), messages)[1:]
        terminal.until(lambda rows: any("change 5 of 8" in row for row in rows), "two runs and a half were played")
        # Half a shape, and the cable is pulled.
        guitar.play(strums(1, 1)[:2])
        gone = time.monotonic()
        guitar.close()
        terminal.until(lambda rows: any("lost" in row or "gone" in row for row in rows), "that it is lost")
        assert time.monotonic() - gone < NOTICED_S
        guitar.open()
        terminal.until(lambda rows: not any("lost" in row or "gone" in row for row in rows), "that it is back")
        again = strums(0, 2)
        landings += last_onsets(guitar.play(again), again)[1:]
        terminal.shows("change 6 of 8")
        # Quit in the middle of a shape.
        guitar.play(strums(2, 1)[:2])
        terminal.key("q")
        assert terminal.ended() == 0
    found = logged(home)
    assert len(found) == len(SHAPES) * ROUNDS + 1
    late = [attempt["at"] - wall - at for attempt, at in zip(found, landings, strict=True)]
    assert abs(median(late)) < PERIOD_S + 0.003
    assert max(map(abs, late)) < EVERY_S / 3  # none is another shape's
    assert all(attempt["timing"] == "heard" for attempt in found)
