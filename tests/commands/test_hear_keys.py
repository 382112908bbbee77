"""`changeover hear` with keys alone: on a terminal that can do nothing, without MIDI, and asked for what it has not."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trainer.cli import main
from trainer.log.history import reading
from trainer.practice.warmup import CAUTION

ROOT = Path(__file__).parents[2]
WAIT_S = 60
Start = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def start(home: Path) -> Iterator[Start]:
    """Start `hear` as a process that no MIDI can be had in."""
    running: list[subprocess.Popen[str]] = []

    def started(*words: str) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-m", "trainer.cli", "hear", *words],
            cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            env={**os.environ, "CHANGEOVER_HOME": str(home), "CHANGEOVER_MIDI_API": "NONE", "TERM": "dumb"},
        )  # fmt: skip
        running.append(process)
        return process

    yield started
    for process in running:
        if process.poll() is None:
            process.kill()
        process.communicate()


def test_a_whole_change_on_a_dumb_terminal(start: Start, home: Path) -> None:
    process = start("C", "F", "--mode", "presses")
    # Leave and land on keys of their own: a press right upon another would be a held key's repeat.
    text, err = process.communicate("j\nk\nq\n", timeout=WAIT_S)
    assert (process.returncode, err) == (0, "")
    assert "C to F: " in text
    assert text.endswith("Ended: 1 of 1 changes landed.\n")
    assert not any(ord(letter) < 32 and letter != "\n" for letter in text)
    with reading(home / "data" / "practice.sqlite3") as history:
        (series,) = history.summaries()
    assert (series.series.timing, series.series.source) == ("leave", "keys")


def test_without_a_port_it_goes_by_keys_and_ctrl_c_sums_it_up(start: Start, home: Path) -> None:
    home.mkdir()
    (home / "settings.toml").write_text('format = 1\nclick = "none"\n')
    process = start("C", "F")
    assert process.stdout is not None
    for line in process.stdout:
        if line.startswith("Enter starts"):
            break
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=WAIT_S)
    assert (process.returncode, out, err) == (0, "\nEnded.\n", "")


def test_the_caution_before_a_stretch_is_said_once_a_day(start: Start) -> None:
    caution = " ".join(CAUTION)
    for times in (1, 0):
        process = start("stretch", "--mode", "presses")
        text, err = process.communicate("j\nk\nq\n", timeout=WAIT_S)
        assert (process.returncode, err) == (0, "")
        assert text.splitlines().count(caution) == times


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--port", "x"], "CHANGEOVER_MIDI_API=NONE: is no API of MIDI here"),
        (["--json"], "--json: nothing is heard with keys alone"),
        (["--keep-take"], "--keep-take: nothing is heard with keys alone"),
        (["--mode", "walk", "--keep-take"], "--keep-take: nothing is heard with keys alone"),
        (["--mode", "walk", "--take", "x.mid"], "--mode: not together with --take"),
        (["--take", "x.mid", "--port", "x"], "--port: not together with --take"),
        (["--take", "x.mid", "--keep-take", "y.mid"], "--keep-take: not together with --take"),
        (["--real-time"], "--real-time: only with --take"),
        (["--tempo", "1000"], "'1000' is not a tempo"),
    ],
)
def test_one_line_and_exit_code_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path, words: list[str], said: str
) -> None:
    monkeypatch.setenv("CHANGEOVER_MIDI_API", "NONE")
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    try:
        code = main(["hear", "C", "F", *words])
    except SystemExit as ended:  # argparse's own way out
        code = int(ended.code or 0)
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == 1
