"""Real MIDI ports for tests: a JACK server with the dummy driver, and a guitar in a process of its own that plays.

    with running_jack() as server: ...   # or the fixture `jack` of tests/conftest.py
    with ScriptedGuitar("Scripted guitar") as guitar:
        guitar.send(b"\\x90\\x40\\x60")
        sent = guitar.play([(0.0, b"\\x90\\x40\\x60"), (0.5, b"\\x80\\x40\\x00")])

The guitar is another process so that its times are its own, whatever the interpreter under test is busy with. Its
clock is the same: CLOCK_MONOTONIC is one for the whole machine. Run as a program, this module is that process.
"""

from __future__ import annotations

import ctypes
import importlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Self, TypeAlias

ROOT = Path(__file__).parents[2]
PERIOD_S = 64 / 48000
"""One period of the server: how long a message may lie before it is passed on."""
_START_S = 20.0
_END_S = 30.0
"""A server that waits for a client that was killed takes six seconds to end."""
_DIE_WITH_PARENT = 1
"""`PR_SET_PDEATHSIG` of prctl(2)."""

Note: TypeAlias = tuple[float, bytes]
"""Seconds from the start of a script, and the message."""


def environment(server: str) -> dict[str, str]:
    """Return what a process must have in its environment to speak to `server` and to no other."""
    return {"JACK_DEFAULT_SERVER": server, "JACK_NO_START_SERVER": "1", "CHANGEOVER_MIDI_API": "UNIX_JACK"}


@contextmanager
def running_jack(jackd: str = "jackd", name: str | None = None, *, at_once: bool = False) -> Iterator[str]:
    """Run a JACK server without sound hardware and give its name; ends this server and no other, by itself where the
    test process is killed.

    64 frames at 48 kHz. The name has the process id in it, so that test processes side by side have one each. The
    server is to wait for its clients (`--sync`, for half a second): without real-time scheduling a busy machine has it
    leave some out otherwise, and what those were to get in that period is gone. The price: a client that is killed
    holds everything up for some seconds, so let clients close, or have the server end `at_once`.
    """
    server = name or f"changeover-test-{os.getpid()}"
    command = [jackd, "-n", server, "--no-realtime", "--sync", "-d", "dummy", "-r", "48000", "-p", "64"]
    with tempfile.TemporaryFile() as said:
        process = subprocess.Popen(
            command, stdout=said, stderr=said, stdin=subprocess.DEVNULL, preexec_fn=_end_with_the_parent
        )
        up = False
        try:
            deadline = time.monotonic() + _START_S
            while not _answers(server):
                if process.poll() is not None or time.monotonic() > deadline:
                    said.seek(0)
                    raise RuntimeError(f"JACK did not start: {said.read().decode(errors='replace')}")
                time.sleep(0.02)
            up = True
            yield server
        finally:
            (process.kill if at_once else process.terminate)()
            try:
                process.wait(_END_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            if up and process.returncode:
                # It was killed, or died of writing to a client that was. JACK keeps the place of such a server, one of
                # eight that a machine may have, until one of the same name ends in order.
                with running_jack(jackd, server):
                    pass


def _end_with_the_parent() -> None:
    """Ask Linux to end this process as `running_jack` would, as soon as its parent is gone."""
    ctypes.CDLL(None).prctl(_DIE_WITH_PARENT, signal.SIGTERM)


def _answers(server: str) -> bool:
    """Tell whether the server takes clients, asked by a process that may print what it likes."""
    code = "import rtmidi; rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name='waiting').delete()"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **environment(server)}, capture_output=True, check=False
    )
    return done.returncode == 0


class ScriptedGuitar:
    """One or more virtual ports in another process, which says when it really sent what.

    JACK calls the ports `NAME:strings`, or `NAME-01:strings` where the name is taken. All of it needs the environment
    of `environment`.
    """

    def __init__(self, name: str = "Scripted guitar", *, ports: int = 1) -> None:
        """Start the process and open its ports; each port is a client of its own, as guitars are."""
        self._process = subprocess.Popen(
            [sys.executable, str(Path(__file__)), name, str(ports)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        self.sent: list[tuple[float, bytes]] = []
        """Everything sent so far: monotonic seconds right before it was handed to the driver, and the message."""
        self._answer()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def send(self, data: bytes, port: int = 0) -> float:
        """Send one message now and return when it was sent."""
        return self.play_on([(0.0, port, data)])[0]

    def play(self, notes: Iterable[Note], port: int = 0) -> list[float]:
        """Send every message at its time, counted from now; return when each was really sent."""
        return self.play_on((at, port, data) for at, data in notes)

    def play_on(self, notes: Iterable[tuple[float, int, bytes]]) -> list[float]:
        """Send messages to several ports: (seconds from now, port, message) in order of time."""
        self.start(notes)
        return self.wait()

    def start(self, notes: Iterable[tuple[float, int, bytes]], begin: float | None = None) -> None:
        """Begin to play as `play_on` does and return at once; `wait` for the end before anything else is asked.

        `begin`: the monotonic second to count from, in place of when the script has arrived.
        """
        self._script = list(notes)
        self._ask({"play": [(at, port, data.hex()) for at, port, data in self._script], "begin": begin})

    def wait(self) -> list[float]:
        """Return when each message of the script that was started was really sent, once all of it has been."""
        times: list[float] = self._answer()
        self.sent += [(at, data) for at, (_, _, data) in zip(times, self._script, strict=True)]
        return times

    def close(self, port: int = 0) -> None:
        """Close a port, as pulling its cable would."""
        self._ask({"close": port})
        self._answer()

    def open(self, port: int = 0) -> None:
        """Open a closed port again."""
        self._ask({"open": port})
        self._answer()

    def end(self) -> None:
        """Close everything and end the process."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        with self._process.stdout, suppress(BrokenPipeError):
            self._process.stdin.close()
        try:
            self._process.wait(5)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _ask(self, command: dict[str, Any]) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(command) + "\n")
        self._process.stdin.flush()

    def _answer(self) -> Any:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            raise RuntimeError("the scripted guitar has died")
        return json.loads(line)


def _guitar(name: str, ports: int) -> None:
    """Be the guitar: obey one JSON command a line, answer each with one line."""
    rtmidi = importlib.import_module("rtmidi")
    opened: dict[int, Any] = {}

    def open_port(port: int) -> None:
        opened[port] = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name=name)
        opened[port].open_virtual_port("strings")

    def answer(value: Any) -> None:
        sys.stdout.write(json.dumps(value) + "\n")
        sys.stdout.flush()

    for port in range(ports):
        open_port(port)
    answer("ready")
    for line in sys.stdin:
        command = json.loads(line)
        if "play" in command:
            script = [(at, port, list(bytes.fromhex(data))) for at, port, data in command["play"]]
            answer(_play(opened, script, command["begin"]))
        elif "close" in command:
            opened.pop(command["close"]).delete()
            answer("closed")
        elif "open" in command:
            open_port(command["open"])
            answer("open")
    for port in list(opened):
        opened.pop(port).delete()


def _play(opened: dict[int, Any], script: list[tuple[float, int, list[int]]], begin: float | None) -> list[float]:
    start = time.monotonic() if begin is None else begin
    times = []
    for at, port, data in script:
        wait = start + at - time.monotonic()
        if wait > 0:
            time.sleep(wait)
        times.append(time.monotonic())
        opened[port].send_message(data)
    return times


if __name__ == "__main__":
    _guitar(sys.argv[1], int(sys.argv[2]))
