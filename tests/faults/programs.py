"""`changeover` as a program of its own, with the files and the surroundings a test gives it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMMAND = (sys.executable, "-m", "trainer.cli")
WAITS_S = 60.0


def changeover(
    home: Path, *words: str, typed: bytes = b"", around: Mapping[str, str | None] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run a command to its end, fed with `typed`, with the variables `around` it; one of None is taken away."""
    given = {**os.environ, "CHANGEOVER_HOME": str(home), "PYTHONWARNINGS": "error", **(around or {})}
    environment = {name: value for name, value in given.items() if value is not None}
    return subprocess.run(
        [*COMMAND, *words], input=typed, capture_output=True, timeout=WAITS_S, check=False, cwd=ROOT, env=environment
    )


def refused(done: subprocess.CompletedProcess[bytes]) -> str:
    """Return the one line on standard error with which a command was refused, having made sure that it is that."""
    assert done.returncode == 2, done
    line = done.stderr.decode()
    assert line.startswith("changeover"), line
    assert line.count("\n") == 1, line
    return line
