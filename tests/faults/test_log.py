"""A log with a wrong byte anywhere, or held by another program, as the commands and line mode meet it.

Each says one line, writes nothing to a file found damaged, and goes on; what can be read is read. What `trainer.log`
itself does with it, and with every other thing that a log may be, is held in `tests/log/test_faults.py` and
`tests/log/test_locked.py`; what can still be saved of it, in `tests/faults/test_mend.py`.
"""

from __future__ import annotations

import contextlib
import io
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.faults.programs import changeover
from trainer.cli import main
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

SHAPES = ("x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "0 2/1 2/2 0 0 0", "3/2 2/1 0 0 0 3/3")
COMMANDS = ("progress", "progress --json", "progress --by week", "today")


@pytest.fixture(scope="module")
def sound() -> bytes:
    """The bytes of a log with some sixty changes of four kinds."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "practice.sqlite3"
        with Log.open(path) as log:
            log.begin(Run("run", "Four shapes", 0.0, Timing.LEAVE))
            for n in range(60):
                key = f"E2 A2 D3 G3 B3 E4 | 0 | {SHAPES[n % 4]} | {SHAPES[(n + 1) % 4]}"
                log.add(Attempt(str(n), "run", key, 60.0 * n, Timing.LEAVE, "keys", 700.0 + n))
        return path.read_bytes()


def said(words: str) -> tuple[int, str, str]:
    """Run a command in this process; return its exit code and what it said."""
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        code = main(words.split())
    return code, out.getvalue(), error.getvalue()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_wrong_byte_anywhere_is_told_in_one_line_or_does_no_harm(
    data: st.DataObject, sound: bytes, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path_factory.mktemp("home")
    path = home / "data" / "practice.sqlite3"
    path.parent.mkdir()
    damaged = bytearray(sound)
    damaged[data.draw(st.integers(0, len(sound) - 1), "byte")] = data.draw(st.integers(0, 255), "value")
    path.write_bytes(damaged)
    monkeypatch.setenv("CHANGEOVER_HOME", str(home))
    for words in COMMANDS:
        code, told, error = said(words)
        if error:
            assert code == 2, words
            assert error.count("\n") == 1
            assert str(path) in error
            assert told == ""
        else:
            assert code == 0
            assert told
    assert path.read_bytes() == damaged  # questions write nothing


@pytest.mark.parametrize("byte", [20, 100, 5000, 9000])
def test_practice_goes_on_beside_a_damaged_log_which_stays_as_it_is(tmp_path: Path, sound: bytes, byte: int) -> None:
    path = tmp_path / "data" / "practice.sqlite3"
    path.parent.mkdir()
    path.write_bytes(sound[:byte] + bytes(64) + sound[byte + 64 :])
    before = path.read_bytes()
    (tmp_path / "settings.toml").write_text("format = 1\nrepeat_ms = 0\n")
    done = changeover(tmp_path, "hear", "C", "F", "--mode", "presses", typed=b"\n" * 8 + b"q\n")
    assert done.returncode == 0
    assert b"4 of 4 changes landed" in done.stdout
    error = done.stderr.decode()
    if error:
        (line,) = error.splitlines()
        assert str(path) in line
        assert "practice goes on but is not kept (nothing was written to it; " in line
        assert "'changeover mend FILE' saves what can still be read" in line
        assert path.read_bytes() == before
    else:  # the zeros lay where nothing stood
        with reading(path) as history:
            assert sum(summary.count for summary in history.summaries()) == 60 + 4


@pytest.fixture
def held(tmp_path: Path, sound: bytes) -> Iterator[Path]:
    """A home whose log another program is writing to."""
    path = tmp_path / "data" / "practice.sqlite3"
    path.parent.mkdir()
    path.write_bytes(sound)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield tmp_path


@pytest.mark.parametrize("words", COMMANDS)
def test_a_log_that_another_program_writes_to_is_read_all_the_same(held: Path, words: str) -> None:
    done = changeover(held, *words.split())
    assert done.returncode == 0, done.stderr
    assert done.stderr == b""


def test_line_mode_says_at_the_end_what_a_locked_log_did_not_take(held: Path) -> None:
    (held / "settings.toml").write_text("format = 1\nrepeat_ms = 0\n")
    done = changeover(held, "hear", "C", "F", "--mode", "presses", typed=b"\n" * 8 + b"q\n")
    assert done.returncode == 0
    (line,) = done.stderr.decode().splitlines()
    assert "another program keeps the practice log locked" in line
    assert "not written down (close that program)" in line
