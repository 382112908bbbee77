"""`changeover hear` as a process on a real MIDI port: a scripted player in a process of its own plays whole drills.

JACK's dummy driver, 64 frames at 48 kHz. The player says when it really sent what; nothing here is a sound.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from pathlib import Path
from statistics import median, quantiles
from threading import Event, Thread
from typing import Any

import pytest

from tests.listen.building import AM, D7, C, G, Playing
from tests.listen.jack import PERIOD_S, ScriptedGuitar, environment, running_jack
from tests.listen.sending import sent
from tests.system import require
from trainer.files.guitars import Guitar, save
from trainer.log.history import reading
from trainer.practice.wiring import Wiring, in_order

ROOT = Path(__file__).parents[2]
SHAPES = (AM, C, D7, G)
NAMES = ("Am", "C", "D7", "G")
CHANGES = 24
"""Of the longest drill that is played: six times round."""
WAIT_S = 60
"""Longer than anything takes on a machine that is busy with other things."""


class Hearing:
    """A running `hear`: what it says, line by line, as it says it."""

    def __init__(self, home: Path, *words: str) -> None:
        environment = {**os.environ, "CHANGEOVER_HOME": str(home), "PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "trainer.cli", "hear", *words],
            cwd=ROOT, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.lines: list[str] = []
        self._news = Event()
        self._reader = Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.lines.append(line.rstrip("\n"))
            self._news.set()

    def wait_for(self, text: str, times: int = 1) -> None:
        """Wait until `text` has been said so often."""
        while sum(text in line for line in self.lines) < times:
            assert self._news.wait(WAIT_S), f"never said {text!r}: {self.lines}"
            self._news.clear()

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def end(self, how: str = "q") -> dict[str, Any]:
        """End it with a line or with ctrl+c, and return its document."""
        if how == "q":
            self.type("q")
        else:
            self.process.send_signal(signal.SIGINT)
        assert self.process.stdout is not None
        said = self.process.stdout.read()
        assert self.process.wait(WAIT_S) == 0, self.lines
        self._reader.join(WAIT_S)
        document: dict[str, Any] = json.loads(said)
        return document


@contextmanager
def hearing(home: Path, *words: str) -> Iterator[Hearing]:
    running = Hearing(home, *words)
    try:
        yield running
    finally:
        if running.process.poll() is None:
            running.process.kill()
        running.process.wait(WAIT_S)
        for stream in (running.process.stdin, running.process.stdout):
            if stream is not None:
                stream.close()
        running._reader.join(WAIT_S)
        if running.process.stderr is not None:
            running.process.stderr.close()


def script(first: int, shapes: int, every_s: float = 0.3) -> list[tuple[float, bytes]]:
    """Return the messages of `shapes` shapes from `first` on, round after round; the last one rings on."""
    playing = Playing()
    for number in range(shapes):
        at, shape = number * every_s, SHAPES[(first + number) % len(SHAPES)]
        playing.shape(at, shape, at + every_s - 0.02 if number < shapes - 1 else None, apart=0.004)
    return sent(playing.events)


def landings(script_: list[tuple[float, bytes]], times: list[float]) -> list[float]:
    """Return when the last note of each shape was really sent: the one followed by a note-off, or by nothing."""
    found: list[float] = []
    for (_, data), following, at in zip(script_, [*script_[1:], (0.0, b"\x80")], times, strict=True):
        if data[0] & 0xF0 == 0x90 and following[1][0] & 0xF0 == 0x80:
            found.append(at)
    return found


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def test_whole_drills_are_heard_logged_and_kept(jack: str, home: Path, tmp_path: Path) -> None:
    take = tmp_path / "kept" / "take.mid"
    with (
        ScriptedGuitar("Hear this") as guitar,
        hearing(home, *NAMES, "--port", "hear this", "--json", "--keep-take", str(take)) as running,
    ):
        running.wait_for("this guitar is not set up: only pitches are heard")
        running.wait_for("The port is open: Hear this")
        messages = script(0, CHANGES + 1)
        times = guitar.play(messages)
        running.wait_for(f"{CHANGES}. G to Am")
        running.type("s")
        running.wait_for("Watch finger")
        document = running.end()
    struck = landings(messages, times)
    assert len(struck) == CHANGES + 1
    changes = document["changes"]
    assert [change["index"] for change in changes] == list(range(CHANGES))
    assert [change["steps"] for change in changes] == [[n % 4, (n + 1) % 4] for n in range(CHANGES)]
    # Where the machine held the player up, shapes came on top of each other: those were not played as written.
    steady = [n for n in range(CHANGES) if abs(struck[n + 1] - struck[n] - 0.3) < 0.1]
    assert len(steady) > CHANGES * 5 / 8
    assert all(changes[n]["landed_s"] is not None for n in steady)
    # The clock of the document begins somewhere: the landings are compared with the sends by where most of them lie.
    away = [changes[n]["landed_s"] - (struck[n + 1] - struck[0]) for n in steady]
    off = [abs(value - median(away)) for value in away]
    assert median(off) <= 0.003
    # So few landings have no 99th percentile, and a busy machine wakes a JACK without real time late.
    assert quantiles(off, n=5)[3] <= PERIOD_S + 0.003
    assert document["summary"]["landed"] >= len(steady)
    # One that came on top of another may be none of the drill's; those are told and not logged.
    landed = sum(change["landed_s"] is not None and change["expected"] for change in changes)
    assert running.lines[-1] == f"Take kept: {take}"
    with reading(home / "data" / "practice.sqlite3") as history:
        series = history.summaries()
        assert {one.series.timing for one in series} == {"heard"}
        assert {one.series.source for one in series} == {"Hear this:strings"}
        assert sum(one.count for one in series) == landed
        attempt = next(iter(history.attempts(series[0].series)))
    assert attempt.measures is not None
    assert attempt.measures.device == "Hear this:strings"
    assert attempt.measures.gap_ms is not None
    again = graded(home, *NAMES, "--take", str(take), "--json")
    assert again == document


def graded(home: Path, *words: str) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-m", "trainer.cli", "hear", *words],
        cwd=ROOT, env={**os.environ, "CHANGEOVER_HOME": str(home)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    document: dict[str, Any] = json.loads(done.stdout)
    return document


def test_a_port_lost_and_found_again_in_mid_change(jack: str, home: Path, tmp_path: Path) -> None:
    take = tmp_path / "take.mid"
    with hearing(home, *NAMES, "--port", "Unplugged:strings", "--json", "--keep-take", str(take)) as running:
        running.wait_for("Waiting for the port Unplugged:strings.")
        with ScriptedGuitar("Unplugged") as guitar:
            running.wait_for("The port is open")
            guitar.play(script(0, 3))
            running.wait_for("2. C to D7")
            # Half of G, then the cable is out.
            guitar.play(sent(Playing().shape(0, G, without=[1, 2, 3]).events))
        running.wait_for("The port is gone")
        with ScriptedGuitar("Unplugged") as guitar:
            running.wait_for("The port is back: Unplugged:strings. Strike D7.")
            guitar.play(script(2, 3))
            running.wait_for("4. G to Am")
            document = running.end("ctrl+c")
    assert [change["steps"] for change in document["changes"]] == [[0, 1], [1, 2], [2, 3], [3, 0]]
    assert all(change["landed_s"] is not None for change in document["changes"])
    assert document["changes"][2]["change_ms"] < 100
    with reading(home / "data" / "practice.sqlite3") as history:
        assert sum(one.count for one in history.summaries()) == 4
    assert graded(home, *NAMES, "--take", str(take), "--json") == document


def test_to_the_beat_the_guitar_answers_how_many_landed(jack: str, home: Path, tmp_path: Path) -> None:
    take = tmp_path / "take.mid"
    words = ("Am", "C", "--port", "beaten", "--tempo", "240", "--json", "--keep-take", str(take))
    playing = Playing()
    for number in range(5):
        # A bar is counted, then a shape each bar; a quarter of a second is a beat.
        playing.shape(0.9 + number, (AM, C)[number % 2], 1.8 + number, apart=0.004)
    with ScriptedGuitar("Beaten") as guitar, hearing(home, *words) as running:
        running.wait_for("The port is open: Beaten:strings.")
        running.type("")
        running.wait_for("Hold Am. 4 beats are counted, then play.")
        guitar.start(((at, 0, data) for at, data in sent(playing.events)), time.monotonic())
        guitar.wait()
        running.wait_for("4 of 4 landed.")
        document = running.end()
    assert all(change["lateness_ms"] is not None for change in document["changes"])
    with reading(home / "data" / "practice.sqlite3") as history:
        (run,) = history.runs()
        attempts = list(history.of_run(run.id))
    assert (run.timing, run.asked, run.landed, run.tempo) == ("beat", 4, 4, 240)
    assert [(attempt.timing, attempt.tempo) for attempt in attempts] == [("heard", 240)] * 4
    assert graded(home, "Am", "C", "--take", str(take), "--json") == document


def test_a_take_of_nothing_is_not_kept_and_nothing_is_written_over(jack: str, home: Path, tmp_path: Path) -> None:
    there = tmp_path / "there.mid"
    there.write_bytes(b"mine")
    with hearing(home, *NAMES, "--port", "nobody", "--keep-take", str(there)) as running:
        running.wait_for("a file is there already")
        assert running.process.wait(WAIT_S) == 2
    with hearing(home, *NAMES, "--port", "nobody", "--json", "--keep-take") as running:
        running.wait_for("Waiting for the port nobody.")
        assert running.end()["changes"] == []
    assert running.lines[-1] == "Nothing was played: no take is kept."
    assert there.read_bytes() == b"mine"
    assert not (home / "takes").exists()


def test_a_killed_process_loses_nothing_of_its_take(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # A server of its own, which ends before the guitar does: all clients wait for one that was killed.
    server = f"changeover-killed-{os.getpid()}"
    for name, value in environment(server).items():
        monkeypatch.setenv(name, value)
    with ExitStack() as last, running_jack(require("jackd", "jackd2"), server, at_once=True):
        guitar = last.enter_context(ScriptedGuitar("Killed"))
        with hearing(home, *NAMES, "--port", "killed", "--json", "--keep-take") as running:
            running.wait_for("The port is open")
            guitar.play(script(0, 6))
            running.wait_for("5. Am to C")
            running.process.kill()
            running.process.wait(WAIT_S)
    (take,) = (home / "takes").iterdir()
    document = graded(home, *NAMES, "--take", str(take), "--json")
    assert [change["steps"] for change in document["changes"]] == [[0, 1], [1, 2], [2, 3], [3, 0], [0, 1]]


def test_a_guitar_that_is_set_up_tells_its_strings_apart_and_its_latency_is_taken_off(
    jack: str, home: Path, tmp_path: Path
) -> None:
    key, take = "Set up:strings", tmp_path / "take.mid"
    guitar = Guitar(Wiring(strings=in_order(1), latency_ms={5: 100.0}), measured=date(2026, 1, 2))
    save(home / "guitars.toml", key, guitar)
    apart = Playing()
    # Each shape's string 5 is heard a tenth of a second late.
    for number, shape in enumerate((AM, C, AM)):
        at = number * 0.6
        apart.shape(at, shape, at + 0.58, without=[5]).note(at + 0.1, 5, (45, 48, 45)[number], at + 0.59)
    with (
        ScriptedGuitar("Set up") as player,
        hearing(home, "Am", "C", "--port", key, "--json", "--keep-take", str(take)) as running,
    ):
        running.wait_for("The port is open")
        player.play(sent(apart.events))
        running.wait_for("2. C to Am")
        document = running.end()
    assert [change["direction"] for change in document["changes"]] == ["block", "block"]
    assert all(change["spread_ms"] < 40 for change in document["changes"])
    assert not any("not set up" in said for said in running.lines)
    with reading(home / "data" / "practice.sqlite3") as history:
        (attempt, *_) = (a for one in history.summaries() for a in history.attempts(one.series))
    assert attempt.measures is not None
    assert attempt.measures.calibration == "measured 2026-01-02 (5:100.0 ms)"
    assert graded(home, "Am", "C", "--take", str(take), "--json") == document
