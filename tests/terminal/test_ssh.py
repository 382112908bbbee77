"""The app on another machine, over ssh: keys are timed there, and a connection that breaks costs nothing that landed.

The server is Debian's own sshd on the loopback, with keys made for the test. What a test on one machine cannot show is
a slow line: there a change is still timed between two keys, each late by what the line takes at that moment.
"""

from __future__ import annotations

import getpass
import os
import shlex
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.system import require
from tests.terminal.person import Terminal
from trainer.log.history import reading

ROOT = Path(__file__).parents[2]
AGREE_MS = 25.0
"""How far the log and the person's clock may be apart; each key goes through two programs more than at the machine."""
PAUSE_S = 0.35
PATIENCE_S = 20.0
LOOK_S = 0.01
SEPARATE = Path("/run/sshd")
"""The empty folder that sshd wants where it runs as root; a system without a running one may not have made it."""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[tuple[str, ...]]:
    """A running sshd that lets the user of this test in by a key; the words with which to reach it."""
    sshd, ssh, keygen = (
        require("/usr/sbin/sshd", "openssh-server"),
        require("ssh", "openssh-client"),
        require("ssh-keygen", "openssh-client"),
    )
    if not os.geteuid():
        SEPARATE.mkdir(mode=0o755, exist_ok=True)
    folder = tmp_path / "ssh"
    folder.mkdir(mode=0o700)
    for name in ("host", "person"):
        subprocess.run([keygen, "-q", "-t", "ed25519", "-N", "", "-f", folder / name], check=True)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    options = {
        "ListenAddress": "127.0.0.1",
        "Port": port,
        "HostKey": folder / "host",
        "AuthorizedKeysFile": folder / "person.pub",
        "PidFile": "none",
        "UsePAM": "no",
        "StrictModes": "no",
        "PermitRootLogin": "prohibit-password",
        "PasswordAuthentication": "no",
        "KbdInteractiveAuthentication": "no",
    }
    (folder / "config").write_text("".join(f"{name} {value}\n" for name, value in options.items()))
    said = folder / "said"
    with said.open("wb") as log, subprocess.Popen([sshd, "-D", "-e", "-f", folder / "config"], stderr=log) as running:
        try:
            give_up = time.monotonic() + PATIENCE_S
            while not answers(port):
                assert running.poll() is None, said.read_text()
                assert time.monotonic() < give_up, said.read_text()
                time.sleep(LOOK_S)
            yield (
                *(ssh, "-tt", "-F", "/dev/null", "-p", str(port), "-i", str(folder / "person")),
                *("-o", "IdentitiesOnly=yes", "-o", "StrictHostKeyChecking=no", "-o", "LogLevel=ERROR"),
                *("-o", f"UserKnownHostsFile={folder / 'known'}", f"{getpass.getuser()}@127.0.0.1"),
            )
        finally:
            running.terminate()


def answers(port: int) -> bool:
    with socket.socket() as line:
        return line.connect_ex(("127.0.0.1", port)) == 0


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


def test_a_change_timed_over_ssh_is_kept_though_the_connection_breaks(tmp_path: Path, server: tuple[str, ...]) -> None:
    home, pid = tmp_path / "there", tmp_path / "app"
    command = shlex.join([sys.executable, "-m", "trainer.cli", "drill", "C", "F", "--mode", "presses"])
    there = (
        f"cd {shlex.quote(str(ROOT))} && echo $$ > {shlex.quote(str(pid))}"
        f" && exec env CHANGEOVER_HOME={shlex.quote(str(home))} {command}"
    )
    with Terminal(tmp_path / "here", program=server) as terminal:
        terminal.run(there)
        terminal.shows("when your fingers leave C")
        left = terminal.key("j")
        terminal.shows("the clock stops")
        time.sleep(PAUSE_S)
        landed = terminal.key("k")
        terminal.shows("when your fingers leave F", "of 4")
        terminal.key("j")  # the next change is in flight
        terminal.shows("the clock stops")
        os.kill(terminal.pid, signal.SIGKILL)  # of ssh here, which has no time left to take leave
        terminal.shows("Killed")
    app = int(pid.read_text())
    give_up = time.monotonic() + PATIENCE_S
    while not gone(app):
        assert time.monotonic() < give_up, "the app outlives its terminal"
        time.sleep(LOOK_S)
    log = home / "data" / "practice.sqlite3"
    with closing(sqlite3.connect(log)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with reading(log) as history:
        (run,) = history.runs()
        (attempt,) = history.of_run(run.id)
    assert attempt.change_ms is not None
    least, most = (1000 * span for span in (landed.sent - left.arrived, landed.arrived - left.sent))
    assert least - AGREE_MS <= attempt.change_ms <= most + AGREE_MS
