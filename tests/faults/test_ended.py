"""Ended from outside in mid-drill: killed, asked to end, or its terminal gone. What landed is in the log, whole.

`tests/terminal/test_person.py` plays the app and has it killed, signalled and its terminal torn away; here is how the
terminal is left by each signal, and line mode. `tests/log/test_killed.py` kills a writer within a change.
"""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import subprocess
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.faults.programs import COMMAND, ROOT, WAITS_S
from tests.terminal.person import Terminal
from trainer.log.history import reading

ENDINGS = ("SIGTERM", "SIGHUP", "SIGINT")


def whole(home: Path) -> int:
    """Return how many changes the log keeps, having made sure that it is sound."""
    path = home / "data" / "practice.sqlite3"
    if not path.exists():
        return 0
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with reading(path) as history:
        return sum(summary.count for summary in history.summaries())


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text("format = 1\nrepeat_ms = 0\n")
    return home


@pytest.mark.parametrize("name", ENDINGS)
def test_a_signal_leaves_the_terminal_as_it_was(home: Path, name: str) -> None:
    with Terminal(home) as terminal:
        terminal.run("drill", "C", "F", "--mode", "presses", then="stty -a")
        terminal.shows("when your fingers leave C")
        terminal.key("j")
        terminal.shows("the clock stops")
        number = signal.Signals[name]
        os.kill(terminal.pid, number)
        assert terminal.ended() == 128 + number
        settings = " ".join(terminal.shows("icanon")).split()
        assert {"isig", "icanon", "echo", "icrnl"} <= set(settings)
        assert terminal.modes() == {"alternate screen": False, "cursor": True, "mouse": False}
    assert whole(home) == 0  # the change was in flight


@contextmanager
def line_mode(home: Path) -> Iterator[subprocess.Popen[str]]:
    """Line mode with one change landed and the next in flight."""
    with subprocess.Popen(
        [*COMMAND, "hear", "C", "F", "--mode", "presses"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
    ) as process:
        try:
            assert process.stdin is not None
            assert process.stdout is not None
            for _ in range(3):
                process.stdin.write("\n")
            process.stdin.flush()
            for line in process.stdout:
                if re.search(r"C to F: \d+\.\d\d seconds", line):
                    break
            # Where the log is still being opened, a change is told before it is written down.
            give_up = time.monotonic() + WAITS_S
            while whole(home) < 1:
                assert time.monotonic() < give_up
                time.sleep(0.01)
            yield process
        finally:
            process.kill()


@pytest.mark.parametrize("name", ["SIGKILL", *ENDINGS])
def test_line_mode_ended_by_a_signal_loses_at_most_the_change_in_flight(home: Path, name: str) -> None:
    number = signal.Signals[name]
    with line_mode(home) as process:
        process.send_signal(number)
        _, said = process.communicate(timeout=WAITS_S)
        assert process.returncode in ({0, 130} if name == "SIGINT" else {-number})
    assert said == ""
    assert whole(home) == 1


def test_line_mode_ends_in_order_where_nobody_types_any_more(home: Path) -> None:
    with line_mode(home) as process:
        told, said = process.communicate(timeout=WAITS_S)
        assert process.returncode == 0
    assert told.rstrip().endswith("1 of 1 changes landed.")
    assert said == ""
    assert whole(home) == 1


def test_line_mode_whose_reader_has_gone_ends_without_a_traceback(home: Path) -> None:
    with line_mode(home) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        process.stdin.write("\n" * 40)
        process.stdin.close()
        process.wait(WAITS_S)
        assert "Traceback" not in process.stderr.read()
        assert process.returncode == 0
    assert whole(home) >= 1
