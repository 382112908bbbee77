"""A log that another program holds: practice goes on, waits in memory, and is written when that program lets go."""

from __future__ import annotations

import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Queue
from threading import Semaphore

import pytest

from tests.log.programs import line, program
from trainer.errors import ChangeoverError, Problem
from trainer.log import connect, faults, keeper
from trainer.log.history import reading
from trainer.log.keeper import Keeper
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)
HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
for statement in sys.argv[2:]:
    connection.execute(statement)
print("held", flush=True)
sys.stdin.readline()
connection.close()
print("let go", flush=True)
"""
WRITING = ("BEGIN IMMEDIATE",)
"""Others may read meanwhile."""
ALONE = ("PRAGMA locking_mode = EXCLUSIVE", "BEGIN EXCLUSIVE", "UPDATE runs SET remark = remark")
"""Nobody else gets at the log at all."""
WAITS_S = 30.0


def attempt(name: str) -> Attempt:
    return Attempt(name, "run", "key", 0.0, Timing.LEAVE, "keys", 700.0)


def kept(path: Path) -> list[str]:
    with reading(path) as history:
        return [one.id for one in history.of_run("run")]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A log with one change."""
    path = tmp_path / "practice.sqlite3"
    with Log.open(path) as log:
        log.begin(RUN)
        assert log.add(attempt("first")).result(WAITS_S) is None
    return path


@contextmanager
def held(path: Path, statements: tuple[str, ...] = WRITING) -> Iterator[subprocess.Popen[str]]:
    """Another program that has run `statements` and lets go when it is told to, at the latest at the end."""
    with program(HOLD, path, *statements) as process:
        assert line(process) == "held"
        yield process


def let_go(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    process.stdin.write("\n")
    process.stdin.flush()
    assert line(process) == "let go"


@pytest.mark.parametrize("statements", [WRITING, ALONE], ids=["while writing", "from the start"])
def test_what_was_practised_is_written_when_the_other_program_lets_go(path: Path, statements: tuple[str, ...]) -> None:
    said: Queue[Problem | None] = Queue()
    with held(path, statements) as other, Log.open(path, patience_s=0.2, on_problem=said.put) as log:
        receipts = [log.add(attempt(str(n))) for n in range(3)]
        answers = {receipt.result(WAITS_S) for receipt in receipts}
        (problem,) = answers
        assert problem is not None
        assert said.get(timeout=WAITS_S) == problem == log.problem
        line_said = str(problem)
        assert "another program keeps the practice log locked; practice goes on and is written down" in line_said
        assert str(path) in line_said
        assert problem.warning
        let_go(other)
        assert said.get(timeout=WAITS_S) is None
        assert log.problem is None
        assert kept(path) == ["first", "0", "1", "2"]
        assert log.add(attempt("after")).result(WAITS_S) is None
    assert said.empty()
    assert kept(path) == ["first", "0", "1", "2", "after"]


def test_a_log_held_again_and_again_keeps_everything_in_order(path: Path) -> None:
    said: Queue[Problem | None] = Queue()
    with Log.open(path, patience_s=0.1, on_problem=said.put) as log:
        for lap in range(3):
            with held(path) as other:
                assert log.add(attempt(f"{lap} held")).result(WAITS_S) is not None
                assert said.get(timeout=WAITS_S) is not None
                let_go(other)
                assert said.get(timeout=WAITS_S) is None
            assert log.add(attempt(f"{lap} free")).result(WAITS_S) is None
    assert kept(path) == ["first", *(f"{lap} {how}" for lap in range(3) for how in ("held", "free"))]


def test_a_change_waits_while_another_program_writes(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "_WAIT_S", 0.0)
    refused = Semaphore(0)

    def is_busy(error: Exception) -> bool:
        refused.release()
        return is_busy_too(error)

    is_busy_too = faults.is_busy
    monkeypatch.setattr(faults, "is_busy", is_busy)
    with Log.open(path, patience_s=3600.0) as log:
        assert log.ready.result(WAITS_S) is None
        with held(path) as other:
            receipt = log.add(attempt("patient"))
            assert all(refused.acquire(timeout=WAITS_S) for _ in range(3))
            assert not receipt.done()
            let_go(other)
            assert receipt.result(WAITS_S) is None


def test_closing_a_log_that_stays_locked_does_not_wait_long_and_says_what_is_lost(path: Path) -> None:
    said: list[Problem | None] = []
    log = Log.open(path, patience_s=3600.0, on_problem=said.append)
    assert log.ready.result(WAITS_S) is None
    with held(path):
        receipts = [log.add(attempt("one")), log.add(attempt("other"))]
        log.close()
        assert kept(path) == ["first"]
    assert all(receipt.result(0) is not None for receipt in receipts)
    assert log.problem is not None
    assert "locked; 2 entries were not written down" in str(log.problem)
    assert said[-1] == log.problem


def test_a_log_that_is_let_go_of_while_it_closes_keeps_everything(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.log.writer._CLOSE_S", WAITS_S)
    said: Queue[Problem | None] = Queue()
    log = Log.open(path, patience_s=0.0, on_problem=said.put)
    assert log.ready.result(WAITS_S) is None
    with held(path) as other:
        log.add(attempt("late"))
        assert said.get(timeout=WAITS_S) is not None
        let_go(other)
        log.close()
    assert log.problem is None
    assert kept(path) == ["first", "late"]


def test_a_log_that_cannot_even_be_read_says_so(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "_READ_WAIT_S", 0.1)
    with held(path, ALONE):
        with pytest.raises(ChangeoverError) as caught:
            kept(path)
        (problem,) = caught.value.problems
        assert "another program keeps the practice log locked" in str(problem)
        assert problem.hint
    with held(path):  # a program that only writes keeps nobody from reading
        assert kept(path) == ["first"]


def test_memory_is_bounded_and_what_is_too_much_is_said(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeper, "MOST_WAITING", 3)
    said: Queue[Problem | None] = Queue()
    with held(path) as other, Log.open(path, patience_s=0.0, on_problem=said.put) as log:
        answers = [log.add(attempt(str(n))).result(WAITS_S) for n in range(5)]
        assert ["not kept" in str(answer) for answer in answers] == [False, False, False, True, True]
        assert said.get(timeout=WAITS_S) is not None
        let_go(other)
        assert said.get(timeout=WAITS_S) is None
    assert kept(path) == ["first", "0", "1", "2"]


def test_an_entry_that_does_not_fit_is_said_when_its_turn_comes_and_the_others_are_kept(path: Path) -> None:
    said: Queue[Problem | None] = Queue()
    with held(path) as other, Log.open(path, patience_s=0.0, on_problem=said.put) as log:
        log.mark("no such change", clean=True)
        log.add(attempt("sound"))
        assert "locked" in str(said.get(timeout=WAITS_S))
        let_go(other)
        assert "no such change" in str(said.get(timeout=WAITS_S))
        assert said.get(timeout=WAITS_S) is None
    assert kept(path) == ["first", "sound"]


def test_a_log_found_damaged_after_it_was_locked_keeps_nothing(path: Path) -> None:
    def broken(_: sqlite3.Connection) -> None:
        if not free:
            raise busy
        raise sqlite3.DatabaseError("file is damaged")

    busy = sqlite3.OperationalError("database is locked")
    busy.sqlite_errorcode = sqlite3.SQLITE_BUSY
    free: list[bool] = []
    said: list[Problem | None] = []
    kept_here = Keeper(path, 0.0, said.append)
    kept_here.open()
    assert "locked" in str(kept_here.take(broken))
    free.append(True)
    kept_here.catch_up()
    assert "damaged" in str(kept_here.problem)
    assert kept_here.pause_s is None
    assert kept_here.take(broken) == kept_here.problem == said[-1]
    kept_here.close()
