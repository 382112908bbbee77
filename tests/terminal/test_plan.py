"""A person at a real terminal: a join plan left and resumed, and a warm-up led through to its end by a pedal."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.terminal.person import Terminal
from trainer.files import kept

DRILL = "two-ways"
"""Six shapes in two segments of three."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def terminal(home: Path) -> Iterator[Terminal]:
    with Terminal(home) as opened:
        yield opened


def good_run(terminal: Terminal, changes: int, after: str) -> None:
    """Play every change of a step by two presses, then wait until the screen says `after`."""
    for number in range(1, changes + 1):
        terminal.shows(f"change {number} of {changes}", "when your fingers leave")
        terminal.key("j")
        terminal.shows("the clock stops")
        terminal.key("k")
    terminal.shows(after)


def test_a_join_plan_is_left_and_resumed(terminal: Terminal, home: Path) -> None:
    terminal.run("drill", DRILL, "--mode", "presses")
    terminal.shows("change 1 of")
    terminal.key("o")
    terminal.shows("Join plan", "▶ alone 1 to 3", "0 of 4 passed")
    terminal.key("PPage")
    terminal.shows("practises whole 1 to 6")
    terminal.key("Down")
    terminal.key("NPage")
    terminal.shows("join 1 of 4, alone 1 to 3")
    good_run(terminal, 4, "Good, 1 of 2 in a row.")
    terminal.key("q")
    assert terminal.ended() == 0
    assert [plan.good for plan in kept.load(home / "data" / "kept.toml")[0].joins.values()] == [1]
    with Terminal(home, (60, 20)) as again:
        again.run("drill", DRILL, "--mode", "presses")
        again.shows("change 1 of")
        again.key("o")
        again.shows("▶ alone 1 to 3, 1 of 2")
        again.key("Enter")
        again.shows("join 1 of 4")
        again.key("q")
        assert again.ended() == 0


def test_a_pedal_alone_leads_through_a_warm_up_of_two_minutes(terminal: Terminal, home: Path) -> None:
    home.mkdir()
    (home / "settings.toml").write_text("format = 1\nwarmup_minutes = 2\n")
    terminal.run()
    terminal.shows("starts First change")
    terminal.key("w")
    terminal.shows("Pain, numbness or tingling: stop", "2:00 left")
    terminal.key("NPage")
    terminal.shows("Guitar aside", "1:5")
    for _ in range(3):
        terminal.key("PPage")
    terminal.shows("count-in", "1:2")
    terminal.key("NPage")
    terminal.shows("goes on.")
    terminal.key("NPage")
    terminal.shows("puts both hands down")
    for _ in range(2):
        terminal.key("PPage")
    terminal.shows("Done. Warm hands are no licence", "0:00 left")
    terminal.key("NPage")
    terminal.shows("starts First change")
    terminal.key("q")
    assert terminal.ended() == 0
