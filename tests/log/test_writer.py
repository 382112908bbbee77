"""The log as a practice screen uses it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from threading import Event, Thread

import pytest

from trainer.errors import Problem
from trainer.log import keeper, store
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import Attempt, Run, Timing

RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)
HEARD = Measures("guitar", "two periods", change_ms=700.0, gap_ms=12.0, kept_down={3: Answer.YES})


def attempt(name: str = "a", *, run: str = "run") -> Attempt:
    return Attempt(name, run, "key", 0.0, Timing.LEAVE, "keys", 700.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "practice.sqlite3"


def test_a_receipt_is_answered_when_the_change_can_be_read(path: Path) -> None:
    with Log.open(path) as log:
        log.begin(RUN)
        assert log.add(attempt()).result() is None
        with reading(path) as history:
            assert history.of_run("run") == [attempt()]
        assert log.problem is None
        assert log.ready.result() is None


def test_a_screen_hears_of_it_without_waiting(path: Path) -> None:
    heard = Event()
    with Log.open(path) as log:
        log.begin(RUN).add_done_callback(lambda receipt: heard.set())
        assert heard.wait(10)


def test_closing_commits_what_was_handed_over(path: Path) -> None:
    log = Log.open(path)
    receipts = [log.begin(RUN)] + [log.add(attempt(str(n))) for n in range(300)]
    log.close()
    assert all(receipt.done() and receipt.result() is None for receipt in receipts)
    with reading(path) as history:
        assert [a.id for a in history.of_run("run")] == [str(n) for n in range(300)]


def test_marks_take_backs_and_ends_are_written_in_turn(path: Path) -> None:
    with Log.open(path) as log:
        receipts = [
            log.begin(RUN),
            log.add(attempt("kept")),
            log.mark("kept", clean=True),
            log.add(replace(attempt("heard"), measures=Measures("guitar", "none", gap_ms=9.0))),
            log.measure("heard", HEARD, True),
            log.add(attempt("not one")),
            log.take_back("not one"),
            log.finish("run", asked=2, landed=1, remark="slow today"),
        ]
    assert [receipt.result() for receipt in receipts] == [None] * 8
    with reading(path) as history:
        got = [(one.id, one.clean, one.measures) for one in history.of_run("run")]
        assert got == [("kept", True, None), ("heard", True, HEARD)]
        assert history.runs() == [Run("run", "Two shapes", 0.0, Timing.LEAVE, asked=2, landed=1, remark="slow today")]


def test_an_entry_that_does_not_fit_is_refused_and_the_log_goes_on(path: Path) -> None:
    problems: list[Problem | None] = []
    with Log.open(path, on_problem=problems.append) as log:
        log.begin(RUN)
        for refused in (
            log.mark("unknown", clean=True),
            log.add(attempt(run="never begun")),
            log.begin(Run("x", "a lone surrogate \udc80", 0.0, Timing.LEAVE)),
            log.begin(Run("y", "Two shapes", 0.0, Timing.LEAVE, tempo=-1.0)),
            log.begin(Run("z", "Two shapes", 0.0, Timing.LEAVE, asked=2**80)),
        ):
            problem = refused.result()
            assert problem is not None
            assert "does not fit" in problem.what
        assert log.add(attempt()).result() is None
        assert log.problem is None
    assert problems == []


def test_an_entry_is_written_whole_or_not_at_all(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = store.add

    def half(connection: sqlite3.Connection, attempt: Attempt) -> None:
        whole(connection, attempt)
        raise ValueError("after half of the work")

    with Log.open(path) as log:
        assert log.begin(RUN).result() is None
        monkeypatch.setattr(store, "add", half)
        assert log.add(attempt()).result() is not None
    with reading(path) as history:
        assert history.of_run("run") == []
        assert history.summaries() == []


def test_a_receipt_cannot_be_cancelled(path: Path) -> None:
    with Log.open(path) as log:
        receipt = log.begin(RUN)
        assert not receipt.cancel()
        assert receipt.result() is None


def test_a_closed_log_says_so(path: Path) -> None:
    log = Log.open(path)
    log.close()
    log.close()
    problem = log.add(attempt()).result()
    assert problem is not None
    assert "closed" in problem.what


def test_two_logs_in_one_program_keep_everything(path: Path) -> None:
    with Log.open(path) as one, Log.open(path) as other:
        assert one.begin(RUN).result() is None
        threads = [
            Thread(target=lambda log=log, first=first: [log.add(attempt(str(first + n))) for n in range(100)])
            for first, log in ((0, one), (100, other))
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    with reading(path) as history:
        assert {a.id for a in history.of_run("run")} == {str(n) for n in range(200)}


def test_the_file_left_behind_is_one_file_with_everything_in_it(path: Path) -> None:
    with Log.open(path) as log:
        log.begin(RUN)
        for n in range(3 * keeper._CHECKPOINT_EVERY):
            assert log.add(attempt(str(n))).result() is None
    assert [left.name for left in path.parent.iterdir()] == [path.name]
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("SELECT count(*) FROM played").fetchone() == (3 * keeper._CHECKPOINT_EVERY,)


def test_the_write_ahead_log_does_not_grow_without_end(path: Path) -> None:
    with Log.open(path) as log:
        log.begin(RUN)
        receipts = [log.add(attempt(str(n))) for n in range(3 * keeper._CHECKPOINT_AT_LATEST)]
        assert all(receipt.result() is None for receipt in receipts)
        # A commit writes some five pages of 4 KiB: 5.4 x 1,024 pages with checkpoints, 15.9 x 1,024 without (measured).
        assert path.with_name(f"{path.name}-wal").stat().st_size < 8 * keeper._CHECKPOINT_AT_LATEST * 4096
