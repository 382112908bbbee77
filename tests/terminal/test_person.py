"""A scripted person drills in a real terminal; what the log then holds is held against the person's own clock."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import pytest

from tests.terminal.person import Moment, Terminal

CHANGES = 20
AGREE_MS = 20.0
"""By so much four in five times of the log may lie outside the person's own, half of them by a quarter of it; what is
left is for a machine that was busy when a key came."""
PAUSES_S = (0.21, 0.34, 0.18, 0.27, 0.40, 0.23)
"""How long the person's changes take, in turn; well above what counts as a held key's repeat."""
HELD_S = 0.1
"""How long a shape is held before it is left."""
RING = 8
"""Changes in one run of the drill that is played: four shapes in a ring, twice round."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def terminal(home: Path) -> Iterator[Terminal]:
    with Terminal(home) as terminal:
        yield terminal


def find_drill(terminal: Terminal) -> None:
    """From the shell into a drill by way of the search, in the way of practising with two presses."""
    terminal.run()
    terminal.shows("Changeover", "starts")
    terminal.key("d")
    terminal.shows("Drills", "Guide on string 1")
    terminal.type("hinge barre")
    terminal.until(lambda rows: not any("Guide on string 1" in row for row in rows), "only what was searched for")
    terminal.key("Enter")
    terminal.shows("Hinge barre", "to the beat")
    terminal.key("m")
    terminal.shows("two presses", f"change 1 of {RING}")


def change(terminal: Terminal, number: int, leave: str, land: str, pause: float) -> tuple[Moment, Moment]:
    """Play the change of this number (from 0), and begin a new run where one is over; return both moments."""
    time.sleep(HELD_S)
    left = terminal.key(leave)
    time.sleep(pause)
    landed = terminal.key(land)
    if (number + 1) % RING == 0:
        terminal.shows("run over")
        time.sleep(HELD_S)
        terminal.key("Space" if leave == "j" else leave)
        terminal.shows(f"change 1 of {RING}", "when your fingers leave")
    else:
        terminal.shows(f"change {number % RING + 2} of {RING}", "when your fingers leave")
    return left, landed


def logged(home: Path) -> list[dict[str, Any]]:
    """Return every attempt that `changeover progress` tells of, in the order played."""
    told = subprocess.run(
        [sys.executable, "-m", "trainer.cli", "progress", "--json", "--limit", "1000"],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        cwd=Path(__file__).parents[2],
    )
    attempts = [attempt for change in json.loads(told.stdout)["changes"] for attempt in change["attempts"]]
    return sorted(attempts, key=lambda attempt: float(attempt["at"]))


def off_ms(attempt: dict[str, Any], left: Moment, landed: Moment) -> float:
    """Return how far a logged time is outside the person's, whose two readings a key hold its moment between them."""
    shortest, longest = 1000 * (landed.sent - left.arrived), 1000 * (landed.arrived - left.sent)
    change = float(attempt["change_ms"])
    return max(shortest - change, change - longest, 0.0)


@pytest.mark.parametrize(("leave", "land", "source"), [("j", "k", "keys"), ("NPage", "NPage", "pedal")])
def test_twenty_changes_stand_in_the_log_as_the_person_timed_them(
    terminal: Terminal, home: Path, leave: str, land: str, source: str
) -> None:
    find_drill(terminal)
    played = []
    for number, pause in zip(range(CHANGES), cycle(PAUSES_S), strict=False):
        played.append(change(terminal, number, leave, land, pause))
        if number == 4:
            terminal.key("u")
            terminal.shows(", unclean")
        if number == 9:
            terminal.resize(120, 40)
            terminal.until(lambda rows: len(rows) == 40 and "last times" in "".join(rows), "the large screen")
        if number == 11:
            terminal.resize(80, 24)
            terminal.until(lambda rows: len(rows) == 24 and "q quit" in rows[-1], "the small screen again")
    terminal.key("q")
    assert terminal.ended() == 0
    attempts = logged(home)
    assert len(attempts) == CHANGES
    off = [off_ms(attempt, *moments) for attempt, moments in zip(attempts, played, strict=True)]
    assert median(off) <= AGREE_MS / 4, off
    assert quantiles(off, n=5)[3] <= AGREE_MS, off
    assert [attempt["clean"] for attempt in attempts] == [False if number == 4 else None for number in range(CHANGES)]
    assert {attempt["source"] for attempt in attempts} == {source}
    assert {attempt["timing"] for attempt in attempts} == {"leave"}


def test_what_has_landed_outlives_a_kill_and_the_next_start_is_clean(terminal: Terminal, home: Path) -> None:
    find_drill(terminal)
    for number, pause in zip(range(13), cycle(PAUSES_S), strict=False):
        change(terminal, number, "j", "k", pause)
    terminal.key("j")  # a fourteenth is in flight
    terminal.shows("the clock stops")
    os.kill(terminal.pid, signal.SIGKILL)
    assert terminal.ended() == 128 + signal.SIGKILL
    assert len(logged(home)) == 13
    with Terminal(home) as again:
        again.run()
        rows = again.shows("where you left off", "Hinge barre")
        assert not any("log" in row for row in rows)
        again.key("q")
        assert again.ended() == 0
    assert len(logged(home)) == 13


def test_a_first_start_times_a_change_with_three_presses(terminal: Terminal, home: Path) -> None:
    terminal.run()
    terminal.shows("ENTER", "starts First change")
    terminal.key("Enter")
    terminal.shows("SPACE", "when your fingers leave")
    terminal.key("Space")
    terminal.shows("SPACE", "the clock stops")
    time.sleep(0.3)
    terminal.key("Space")
    terminal.shows("change 2 of", "seconds")
    assert len(logged(home)) == 1


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_signal_ends_it_in_order(terminal: Terminal, home: Path, name: str) -> None:
    terminal.run("drill", "C", "F", "--mode", "presses")
    terminal.shows("when your fingers leave C")
    terminal.key("j")
    terminal.shows("the clock stops")
    terminal.key("k")
    terminal.shows("change 2 of", "seconds")
    number = signal.Signals[name]
    os.kill(terminal.pid, number)
    assert terminal.ended() == 128 + number
    assert len(logged(home)) == 1


def test_a_terminal_that_goes_away_leaves_nothing_running_and_loses_nothing(terminal: Terminal, home: Path) -> None:
    terminal.run("drill", "C", "F", "--mode", "presses")
    terminal.shows("when your fingers leave C")
    terminal.key("j")
    terminal.shows("the clock stops")
    terminal.key("k")
    terminal.shows("change 2 of", "seconds")
    pid = terminal.pid
    terminal.tear_away()
    give_up = time.monotonic() + 20
    while is_running(pid):
        assert time.monotonic() < give_up
        time.sleep(0.02)
    assert len(logged(home)) == 1


def is_running(pid: int) -> bool:
    """Tell whether a process runs; what is left of a dead one until it is collected does not."""
    state = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], check=False, capture_output=True, text=True).stdout
    return state.strip() != "" and not state.startswith("Z")


def test_it_leaves_the_terminal_as_it_was(terminal: Terminal) -> None:
    terminal.run("drill", "C", "F", then="stty -a; exec cat")
    terminal.shows("to the beat")
    terminal.key("C-c")
    settings = " ".join(terminal.shows("icanon")).split()
    assert {"isig", "icanon", "echo", "icrnl"} <= set(settings)
    assert terminal.modes() == {"alternate screen": False, "cursor": True, "mouse": False}


def test_without_colours_none_is_sent(terminal: Terminal) -> None:
    terminal.run("drill", "hinge", "--mode", "walk", NO_COLOR="1")
    terminal.shows("walk through", "crosses")
    sent = {code for row in terminal.codes().split("\x1b[")[1:] for code in row.split("m")[0].split(";")}
    # 0, 1, 3 and 7 are plain, bold, italic and reversed; 39 and 49 the terminal's own ink and ground.
    assert sent <= {"", "0", "1", "3", "7", "39", "49"}
