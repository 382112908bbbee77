"""Several programs at one log at the same time: nothing is lost, nobody is told of locks, each sees one moment."""

from __future__ import annotations

import sqlite3
import subprocess
from contextlib import ExitStack, closing
from pathlib import Path
from queue import Queue

import pytest

from tests.log.programs import line, program
from trainer.errors import ChangeoverError, Problem
from trainer.log import merge as merging
from trainer.log.history import reading
from trainer.log.merge import merge
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

WAITS_S = 60.0
PRACTISE = """
import sys
from pathlib import Path
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

path, name, changes = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
sys.stdin.readline()
told = []
with Log.open(path, on_problem=told.append) as log:
    receipts = [log.begin(Run(name, "Two shapes", 0.0, Timing.LEAVE))]
    for n in range(changes):
        receipts.append(log.add(Attempt(f"{name} {n}", name, f"{n % 5}", 60.0 * n, Timing.LEAVE, name, 700.0)))
        receipts[-1].result()
    receipts += [log.mark(f"{name} {n}", clean=True) for n in range(0, changes, 3)]
print([problem for problem in [*told, *(receipt.result() for receipt in receipts)] if problem is not None])
"""
MERGE = """
import sys
from trainer.cli import main

print("ready", flush=True)
sys.stdin.readline()
for file in sys.argv[1:]:
    code = main(["merge", file])
    if code:
        sys.exit(code)
"""
READ = """
import sys
from pathlib import Path
from trainer.log.history import reading

print("ready", flush=True)
sys.stdin.readline()
counts = [0]
while counts[-1] < int(sys.argv[2]):
    with reading(Path(sys.argv[1])) as history:
        summaries = history.summaries()
        played = [attempt for run in history.runs(newest=1000) for attempt in history.of_run(run.id)]
        assert sum(summary.count for summary in summaries) == len(played), (summaries, played)
        assert sum(summary.answered for summary in summaries) == sum(one.clean is not None for one in played)
        counts.append(len(played))
assert counts == sorted(counts), counts
"""


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The log that they all have in common, with one change."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "home"))
    path = tmp_path / "home" / "data" / "practice.sqlite3"
    played(path, "before", 1)
    return path


def played(path: Path, name: str, changes: int) -> Path:
    with Log.open(path) as log:
        log.begin(Run(name, "Three shapes", 0.0, Timing.LEAVE))
        receipts = [log.add(attempt(name, n)) for n in range(changes)]
        assert [receipt.result(WAITS_S) for receipt in receipts] == [None] * changes
    return path


def attempt(name: str, n: int) -> Attempt:
    return Attempt(f"{name} {n}", name, f"{n % 5}", 60.0 * n, Timing.LEAVE, name, 700.0)


def go_on(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    process.stdin.write("go\n")
    process.stdin.flush()


def ids(path: Path) -> set[str]:
    with reading(path) as history:
        return {attempt.id for run in history.runs(newest=1000) for attempt in history.of_run(run.id)}


def test_two_play_two_merge_and_two_look_on(tmp_path: Path, path: Path) -> None:
    """The log of one seat: the teacher's program and the projector's, logs brought home, and who looks at progress."""
    files = [played(tmp_path / f"{name}.sqlite3", name, 300) for name in ("one", "two", "three")]
    expected = 1 + 3 * 300 + 2 * 200
    with ExitStack() as running:
        players = [running.enter_context(program(PRACTISE, path, name, 200)) for name in ("teacher", "projector")]
        mergers = [running.enter_context(program(MERGE, *chosen)) for chosen in (files[:2], files[1:])]
        readers = [running.enter_context(program(READ, path, expected)) for _ in range(2)]
        everybody = [*players, *mergers, *readers]
        assert [line(process) for process in everybody] == ["ready"] * len(everybody)
        for process in everybody:
            go_on(process)
        assert [line(process) for process in players] == ["[]", "[]"]
        assert [process.wait(WAITS_S) for process in everybody] == [0] * len(everybody)
    names = {"before": 1, "one": 300, "two": 300, "three": 300, "teacher": 200, "projector": 200}
    assert ids(path) == {f"{name} {n}" for name, count in names.items() for n in range(count)}
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with reading(path) as history:
        assert sum(summary.clean for summary in history.summaries()) == 2 * 67


HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.readline()
connection.execute("COMMIT")
"""
MERGE_SLOWLY = """
import sys
from pathlib import Path
from trainer.log import merge, union

join = union.join

def slowly(ours):
    join(ours)
    print("written, not committed", flush=True)
    sys.stdin.readline()

union.join = slowly
merge.merge(Path(sys.argv[1]), Path(sys.argv[2]))
print("committed", flush=True)
"""
MERGE_PATIENTLY = """
import sys
from pathlib import Path
from trainer.log import faults, merge

is_busy = faults.is_busy
refused = False

def first(error):
    global refused
    if not refused:
        refused = True
        print("refused", flush=True)
    return is_busy(error)

faults.is_busy = first
merge.merge(Path(sys.argv[1]), Path(sys.argv[2]))
print("committed", flush=True)
"""


def test_whoever_practises_while_a_long_merge_comes_in_waits_in_memory_and_loses_nothing(
    tmp_path: Path, path: Path
) -> None:
    file = played(tmp_path / "long.sqlite3", "long", 20)
    said: Queue[Problem | None] = Queue()
    with Log.open(path, patience_s=0.1, on_problem=said.put) as log:
        log.begin(Run("app", "Two shapes", 0.0, Timing.LEAVE))
        assert log.add(attempt("app", 0)).result(WAITS_S) is None
        with program(MERGE_SLOWLY, file, path) as other:
            assert line(other) == "written, not committed"
            assert log.add(attempt("app", 1)).result(WAITS_S) is not None
            waiting = said.get(timeout=WAITS_S)
            assert waiting is not None
            assert "written down as soon as it lets go" in waiting.what
            assert ids(path) == {"before 0", "app 0"}  # who looks on sees the moment before
            go_on(other)
            assert line(other) == "committed"
        assert said.get(timeout=WAITS_S) is None
        assert log.add(attempt("app", 2)).result(WAITS_S) is None
    assert ids(path) == {"before 0", *(f"app {n}" for n in range(3)), *(f"long {n}" for n in range(20))}


def test_a_merge_waits_for_another_program_and_gives_up_with_one_line(
    tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = played(tmp_path / "file.sqlite3", "file", 3)
    before = ids(path)
    with program(HOLD, path) as other:
        assert line(other) == "held"
        monkeypatch.setattr(merging, "PATIENCE_S", 0.1)
        with pytest.raises(ChangeoverError) as caught:
            merge(file, path)
        assert caught.value.problems[0].what == "another program keeps the practice log locked"
        assert ids(path) == before
        monkeypatch.undo()
        with program(MERGE_PATIENTLY, file, path) as patient:
            assert line(patient) == "refused"
            go_on(other)
            assert line(patient) == "committed"
    assert ids(path) == before | {"file 0", "file 1", "file 2"}
