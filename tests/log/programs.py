"""Real programs of their own, for tests of what two of them do to one log."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def program(text: str, *arguments: object) -> Iterator[subprocess.Popen[str]]:
    """A Python program of its own that is killed at the latest when the block ends."""
    command = [sys.executable, "-c", text, *(str(argument) for argument in arguments)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()
