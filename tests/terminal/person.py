"""A scripted person at a real terminal: tmux on a socket of its own, keys by its control mode, the screen read back."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from tests.system import require

_PATIENCE_S = 60.0
"""Longer than any condition takes on a machine that is busy with other things."""
_LOOK_S = 0.01
_CHECKOUT = (sys.executable, "-m", "trainer.cli")


class Moment(NamedTuple):
    """Two readings of the person's clock: a key was sent no sooner than `sent` and lay at the program by `arrived`."""

    sent: float
    arrived: float


class Terminal:
    """One tmux session that runs one program; whatever is still in it at the end is ended."""

    def __init__(self, home: Path, size: tuple[int, int] = (80, 24), program: Sequence[str] = _CHECKOUT) -> None:
        tmux = require("tmux", "tmux")
        self._server = [tmux, "-f", os.devnull, "-L", f"changeover-{uuid.uuid4().hex}"]
        self._home = home
        self._pid = home.with_name("pid")
        self._size = size
        self._program = program
        self._client: subprocess.Popen[str] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if error is not None:
            sys.stderr.write(f"The screen when it went wrong:\n{self._last_look()}\n")
        subprocess.run([*self._server, "kill-server"], check=False, capture_output=True)
        if self._client is not None:
            # A client that still writes to a pipe nobody reads would wait for ever, so it is not asked.
            self._client.kill()
            self._client.communicate()

    def run(self, *words: str, then: str = "true", **environment: str) -> None:
        """Start `changeover` with these words in the session; the shell command `then` follows it."""
        width, height = map(str, self._size)
        given = {"CHANGEOVER_HOME": str(self._home), "TERM": "screen-256color", "COLORTERM": "truecolor", **environment}
        pairs = [part for name, value in given.items() for part in ("-e", f"{name}={value}")]
        program = f"echo $$ > {shlex.quote(str(self._pid))}; exec {shlex.join((*self._program, *words))}"
        # The shell around it tells how it ended, and keeps the terminal open for a look at how it was left.
        shell = f"sh -c {shlex.quote(program)}; echo [ended $?]; {then}; exec cat"
        options = ("set", "-g", "window-size", "manual")
        subprocess.run(
            [*self._server, "new-session", "-d", "-x", width, "-y", height, *pairs, shell, ";", *options],
            check=True,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "TERM": "xterm"},
        )
        self._client = subprocess.Popen(
            [*self._server, "-C", "attach"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
            errors="replace",  # it tells unasked what the program writes, and cuts that within characters
        )
        self._answer()  # to having been attached

    def key(self, name: str) -> Moment:
        """Press a key, named as tmux names it; return when."""
        sent = time.monotonic()
        self._ask(f"send-keys {name}")
        return Moment(sent, time.monotonic())

    def type(self, text: str) -> None:
        """Type letters."""
        self._ask(f"send-keys -l '{text}'")

    def resize(self, width: int, height: int) -> None:
        """Change the size of the window."""
        self._ask(f"resize-window -x {width} -y {height}")

    def screen(self) -> list[str]:
        """Return the rows now shown."""
        return self._ask("capture-pane -p")

    def codes(self) -> str:
        """Return the rows now shown with their escape codes."""
        return "\n".join(self._ask("capture-pane -e -p"))

    def shows(self, *texts: str) -> list[str]:
        """Wait until the screen shows every one of `texts`; return its rows."""
        return self.until(lambda rows: all(any(text in row for row in rows) for text in texts), " and ".join(texts))

    def until(self, holds: Callable[[list[str]], bool], what: str) -> list[str]:
        """Wait until `holds` is true of the rows shown; return them."""
        give_up = time.monotonic() + _PATIENCE_S
        while not holds(rows := self.screen()):
            if time.monotonic() > give_up:
                raise AssertionError(f"never shown: {what}\n" + "\n".join(rows))
            time.sleep(_LOOK_S)
        return rows

    def tear_away(self) -> None:
        """Take the terminal from under the program, as a closed window or a lost connection does."""
        subprocess.run([*self._server, "kill-server"], check=True, capture_output=True)

    def ended(self) -> int:
        """Wait until the program has ended; return its exit code, 128 more than the signal's where one killed it."""
        rows = self.shows("[ended ")
        found = re.search(r"\[ended (\d+)\]", "".join(rows))
        assert found is not None
        return int(found[1])

    def modes(self) -> dict[str, bool]:
        """Return what the terminal was switched to."""
        names = ("alternate screen", "cursor", "mouse")
        (answer,) = self._ask("display-message -p '#{alternate_on} #{cursor_flag} #{mouse_any_flag}'")
        return {name: flag == "1" for name, flag in zip(names, answer.split(" "), strict=True)}

    @property
    def pid(self) -> int:
        """The program's process id."""
        return int(self._pid.read_text())

    def _ask(self, command: str) -> list[str]:
        assert self._client is not None
        assert self._client.stdin is not None
        self._client.stdin.write(f"{command}\n")
        self._client.stdin.flush()
        return self._answer()

    def _answer(self) -> list[str]:
        """Return the lines of the next answer; what tmux tells unasked lies outside answers."""
        assert self._client is not None
        assert self._client.stdout is not None
        lines: list[str] | None = None
        for line in self._client.stdout:
            text = line.rstrip("\n")
            if text.startswith("%begin"):
                lines = []
            elif text.startswith(("%end", "%error")):
                if text.startswith("%error"):
                    raise AssertionError(f"tmux refused: {lines}")
                return lines or []
            elif lines is not None:
                lines.append(text)
        raise AssertionError("tmux has gone")

    def _last_look(self) -> str:
        look = subprocess.run([*self._server, "capture-pane", "-p"], check=False, capture_output=True, text=True)
        return look.stdout
