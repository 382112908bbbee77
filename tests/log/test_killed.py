"""Real programs at the same log: killed at any moment, and two at once."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

from tests.log.programs import line, program
from trainer.log.history import reading
from trainer.log.migrations import MIGRATIONS, version
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)
START = """
import sys
from pathlib import Path
from trainer.log import store
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

def attempt(name):
    return Attempt(name, "run", "key", 0.0, Timing.LEAVE, "keys", 700.0)

log = Log.open(Path(sys.argv[1]))
problem = log.begin(Run("run", "Two shapes", 0.0, Timing.LEAVE)).result()
"""
PRACTISE = f"""{START}
n = 0
while problem is None:
    problem = log.add(attempt(str(n))).result()
    print(n, flush=True)
    n += 1
"""
STOP_HALFWAY = f"""{START}
add = store.add

def halfway(connection, attempt):
    add(connection, attempt)
    print("written, not committed", flush=True)
    sys.stdin.read()

log.add(attempt("whole")).result()
store.add = halfway
log.add(attempt("half")).result()
"""
STOP_WITHIN_A_STEP = """
import sqlite3, sys
from dataclasses import replace
from trainer.log.migrations import MIGRATIONS, migrate

def stop():
    print("halfway", flush=True)
    sys.stdin.read()

first, second = MIGRATIONS[:2]
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("PRAGMA journal_mode = WAL")
connection.create_function("stop", 0, stop)
migrate(connection, (first, replace(second, statements=(*second.statements[:3], "SELECT stop()"))))
"""
PRACTISE_300 = f"""{START}
print("ready", flush=True)
sys.stdin.readline()
receipts = [log.add(attempt(f"{{sys.argv[2]}} {{n}}")) for n in range(300)]
sys.exit([receipt.result() for receipt in receipts] != [None] * 300)
"""


def kill(process: subprocess.Popen[str]) -> list[str]:
    """Kill `process` as `kill -9` does and return what it had still said."""
    process.kill()
    assert process.stdout is not None
    # Not communicate(), which reads past what readline() has already taken from the pipe.
    said = process.stdout.read()
    process.wait()
    return said.split()


def check(path: Path) -> list[str]:
    """Return the ids of the log's attempts, having made sure that file and summary are sound."""
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    with reading(path) as history:
        ids = [attempt.id for attempt in history.of_run("run")]
        assert sum(summary.count for summary in history.summaries()) == len(ids)
    return ids


@pytest.mark.parametrize("landed", [1, 2, 64, 200, 1500])
def test_a_killed_program_loses_at_most_the_change_in_flight(tmp_path: Path, landed: int) -> None:
    path = tmp_path / "practice.sqlite3"
    with program(PRACTISE, path) as process:
        said = [line(process) for _ in range(landed)]
        said += kill(process)
    assert said == [str(n) for n in range(len(said))]
    # The one in flight may have been committed before it could be said.
    assert check(path) in (said, [*said, str(len(said))])
    with Log.open(path) as log:
        assert log.add(Attempt("after", "run", "key", 0.0, Timing.LEAVE, "keys", 700.0)).result(30) is None
    assert "after" in check(path)


def test_a_program_killed_within_a_change_has_not_written_half_of_it(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    with program(STOP_HALFWAY, path) as process:
        assert line(process) == "written, not committed"
        kill(process)
    assert check(path) == ["whole"]


def test_a_program_killed_within_a_step_of_the_schema_leaves_the_log_before_it(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    with program(STOP_WITHIN_A_STEP, path) as process:
        assert line(process) == "halfway"
        kill(process)
    with closing(sqlite3.connect(path)) as connection:
        assert version(connection) == 1
    with Log.open(path) as log:
        assert log.ready.result(30) is None
    with closing(sqlite3.connect(path)) as connection:
        assert version(connection) == MIGRATIONS[-1].number
    assert check(path) == []


def test_a_log_copied_from_under_a_running_program_is_one_a_power_cut_might_leave(tmp_path: Path) -> None:
    path, copy = tmp_path / "practice.sqlite3", tmp_path / "copy" / "practice.sqlite3"
    copy.parent.mkdir()
    with Log.open(path) as log:
        log.begin(RUN)
        for n in range(20):
            assert log.add(Attempt(str(n), "run", "key", 0.0, Timing.LEAVE, "keys", 700.0)).result(30) is None
        for name in ("practice.sqlite3", "practice.sqlite3-wal"):
            shutil.copy(path.parent / name, copy.parent / name)
    assert check(copy) == [str(n) for n in range(20)]


def test_two_running_copies_do_not_disturb_each_other(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    with program(PRACTISE_300, path, "one") as one, program(PRACTISE_300, path, "two") as two:
        assert [line(process) for process in (one, two)] == ["ready", "ready"]
        for process in (one, two):
            assert process.stdin is not None
            process.stdin.write("go\n")
            process.stdin.flush()
        with reading(path) as history:  # a third looks on
            assert history.runs() == [RUN]
        assert [process.wait(60) for process in (one, two)] == [0, 0]
    assert set(check(path)) == {f"{name} {n}" for name in ("one", "two") for n in range(300)}
