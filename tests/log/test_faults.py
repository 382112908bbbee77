"""Whatever is wrong with the log: one clear message, practice goes on, nothing is overwritten."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from trainer.errors import ChangeoverError, Problem
from trainer.log import connect, store
from trainer.log.history import reading
from trainer.log.migrations import MIGRATIONS
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Attempt, Run, Timing

RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)
KEY = "E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0"
HEARD = Measures(
    "guitar",
    "none",
    change_ms=700.0,
    gap_ms=12.0,
    direction=Direction.BLOCK,
    kept_down={1: Answer.YES},
    guides={2: Answer.NO},
    missing=((6, 40),),
)
NOBODY = 65534


def attempt(name: str = "new") -> Attempt:
    return Attempt(name, "run", KEY, 0.0, Timing.LEAVE, "keys", 700.0)


@pytest.fixture(scope="module")
def sound() -> bytes:
    """The bytes of a log with two hundred changes, some of them heard."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "practice.sqlite3"
        with Log.open(path) as log:
            log.begin(RUN)
            for n in range(200):
                log.add(replace(attempt(str(n)), measures=HEARD if n % 8 == 0 else None))
        return path.read_bytes()


@pytest.fixture
def path(tmp_path: Path, sound: bytes) -> Path:
    path = tmp_path / "practice.sqlite3"
    path.write_bytes(sound)
    return path


def practise(path: Path) -> list[Problem]:
    """Practise for a moment with the log at `path` and return what the player was told."""
    told: list[Problem | None] = []
    with Log.open(path, patience_s=0.2, on_problem=told.append) as log:
        receipts = [log.begin(RUN), log.add(attempt()), log.mark("new", clean=True), log.finish("run", remark="done")]
        answers = [receipt.result(30) for receipt in receipts]
    assert answers == [log.problem] * len(answers)
    assert told == [problem for problem in [log.problem] if problem is not None]
    return problems(told)


def problems(told: list[Problem | None]) -> list[Problem]:
    return [problem for problem in told if problem is not None]


def one_line(problem: Problem, path: Path) -> str:
    """Return the message, having made sure that it is one line that says what, where and what to do."""
    line = str(problem)
    assert "\n" not in line
    assert str(path) in line
    assert problem.hint
    return line


def told_once(path: Path, *words: str, reads_too: bool = False) -> None:
    """Hold that a faulty log is told at the start and once, and that it is not read unless `reads_too`."""
    (problem,) = practise(path)
    line = one_line(problem, path)
    assert "practice goes on but is not kept" in line
    assert problem.warning
    for word in words:
        assert word in line
    if not reads_too:
        assert "practice goes on" not in refusal(path)


def refusal(path: Path) -> str:
    """Return the one line with which the log at `path` is not read."""
    with pytest.raises(ChangeoverError) as caught:
        ask_everything(path)
    (problem,) = caught.value.problems
    return one_line(problem, path)


def ask_everything(path: Path) -> None:
    with reading(path) as history:
        for summary in history.summaries():
            history.attempts(summary.series)
        history.of_run("run")
        history.runs()


def test_a_sound_log_says_nothing(path: Path) -> None:
    assert practise(path) == []


# Damaged


@pytest.mark.parametrize("part", [0.25, 0.5, 0.99])
def test_a_truncated_log(path: Path, sound: bytes, part: float) -> None:
    path.write_bytes(sound[: int(len(sound) * part)])
    before = path.read_bytes()
    told_once(path, "damaged", "nothing was written to it")
    assert path.read_bytes() == before
    # Not even a question is let in that might never meet the missing part.
    with pytest.raises(ChangeoverError, match="damaged"), reading(path):
        pytest.fail("the log was opened")


@pytest.mark.parametrize("size", [1, 15, 60])
def test_a_log_truncated_within_its_header(path: Path, sound: bytes, size: int) -> None:
    path.write_bytes(sound[:size])
    told_once(path, "not a practice log")
    assert path.read_bytes() == sound[:size]


def test_an_empty_file_becomes_a_log(path: Path) -> None:
    path.write_bytes(b"")
    assert practise(path) == []
    with reading(path) as history:
        assert history.of_run("run")


@pytest.mark.parametrize("content", [b"not a database, only some notes\n" * 400, b"\0" * 9000, bytes(range(256)) * 64])
def test_a_file_that_is_no_database(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    told_once(path, "not a practice log", "move the file away")
    assert path.read_bytes() == content


@pytest.mark.parametrize("start", range(7))
def test_a_changed_byte_is_told_or_harmless(path: Path, sound: bytes, start: int) -> None:
    # Every 211th byte, a stride that shares no factor with the page size, in seven parts. SQLite keeps no checksum of
    # its pages: a byte within a text changes that text. What must hold everywhere is that nothing crashes, that a
    # damaged file stays as it is, and that what is read is either sound in form or refused.
    told = 0
    for offset in range(start * 211, len(sound), 7 * 211):
        damaged = bytearray(sound)
        damaged[offset] ^= 0xFF
        path.write_bytes(damaged)
        try:
            ask_everything(path)
        except ChangeoverError as error:
            one_line(error.problems[0], path)
        found = practise_in_any_case(path)
        if found:
            told += 1
            one_line(found[0], path)
            assert path.read_bytes() == damaged
    assert told > 0


def practise_in_any_case(path: Path) -> list[Problem]:
    """Practise with a log that may be damaged where nobody looks; return what was told when it was opened."""
    told: list[Problem | None] = []
    with Log.open(path, on_problem=told.append) as log:
        at_start = log.ready.result(30)
        for receipt in (log.begin(RUN), log.add(attempt()), log.finish("run")):
            receipt.result(30)
    assert len(told) <= 1
    return problems(told) if at_start is not None else []


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("series", "timing", "guessed"),
        ("series", "texture", "velvet"),
        ("attempts", "at", 9e999),
        ("measures", "gap_ms", 9e999),
        ("runs", "timing", ""),
    ],
)
def test_a_word_or_number_that_no_program_of_ours_wrote(path: Path, table: str, column: str, value: object) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(f"UPDATE {table} SET {column} = ?", (value,))
    assert "damaged" in refusal(path)


def test_a_number_where_a_text_should_be(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection, connection:
        for step in MIGRATIONS:
            for statement in step.statements:
                connection.execute(statement.replace(") STRICT", ")"))
            connection.execute("INSERT INTO migrations (number, name) VALUES (?, ?)", (step.number, step.name))
        connection.execute("INSERT INTO runs (id, drill, at, timing) VALUES ('run', 'Two shapes', 'noon', 'leave')")
    assert "damaged" in refusal(path)


# Somebody else's, or of another time


def test_the_database_of_another_program(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE addresses (name TEXT)")
    before = path.read_bytes()
    told_once(path, "another program", "move the file away")
    assert path.read_bytes() == before


def test_a_log_of_a_newer_format(path: Path) -> None:
    newer = MIGRATIONS[-1].number + 1
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("INSERT INTO migrations (number, name) VALUES (?, 'from the future')", (newer,))
    before = path.read_bytes()
    told_once(path, f"format {newer}", "update Changeover")
    assert path.read_bytes() == before


# Out of reach


@contextmanager
def unprivileged() -> Iterator[None]:
    """Lay down the rights of root, to whom no file is read-only."""
    if os.geteuid():
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def open_folder(sound: bytes) -> Iterator[Path]:
    """A folder everybody may look into, unlike those of the test runner, with a log in it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "practice.sqlite3").write_bytes(sound)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


def test_a_read_only_folder(open_folder: Path) -> None:
    path = open_folder / "practice.sqlite3"
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    with unprivileged():
        told_once(path, "read-only", reads_too=True)
        with reading(path) as history:
            assert len(history.of_run("run")) == 200
    assert path.read_bytes() == before


def test_a_read_only_file(open_folder: Path) -> None:
    path = open_folder / "practice.sqlite3"
    path.chmod(0o444)
    open_folder.chmod(0o777)
    before = path.read_bytes()
    with unprivileged():
        told_once(path, "read-only", reads_too=True)
        with Log.open(path) as log:
            assert log.ready.result(30) is not None  # known before the first change is landed, not after
    assert path.read_bytes() == before


def test_a_folder_that_cannot_be_made(open_folder: Path) -> None:
    path = open_folder / "new" / "practice.sqlite3"
    open_folder.chmod(0o555)
    with unprivileged():
        told_once(path, "cannot be opened", "Permission denied", reads_too=True)


def test_a_folder_where_the_log_should_be(tmp_path: Path) -> None:
    told_once(tmp_path, "cannot be opened")


def test_a_file_where_the_folder_should_be(path: Path) -> None:
    told_once(path / "practice.sqlite3", "cannot be opened", reads_too=True)


def test_a_full_disk(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = connect.for_writing

    def nearly_full(path: Path) -> sqlite3.Connection:
        connection = opened(path)
        connection.execute("PRAGMA max_page_count = 1")  # SQLite takes the present size for the least it can be
        return connection

    monkeypatch.setattr(connect, "for_writing", nearly_full)
    told: list[Problem | None] = []
    with Log.open(path, on_problem=told.append) as log:
        answers = [log.add(attempt(f"new {n}")).result(30) for n in range(200)]
    kept = answers.index(log.problem)
    assert answers == [None] * kept + [log.problem] * (200 - kept)
    assert ["the disk is full" in one_line(problem, path) for problem in problems(told)] == [True]
    with reading(path) as history:
        assert len(history.of_run("run")) == 200 + kept


def test_damage_met_only_while_writing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def damaged(*_: object, **__: object) -> None:
        b"\xff".decode()  # what Python's module raises where SQLite's message quotes bytes that are no text

    with Log.open(path) as log:
        assert log.ready.result(30) is None
        monkeypatch.setattr(store, "add", damaged)
        problem = log.add(attempt()).result(30)
        assert problem is not None
        assert problem is log.problem
        assert "damaged" in one_line(problem, path)


def test_a_log_is_opened_to_lose_nothing_but_the_last_commits_to_a_power_cut(path: Path) -> None:
    with closing(connect.for_writing(path)) as connection:
        pragmas = {name: connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")}
        assert pragmas == {"journal_mode": "wal", "synchronous": 1}  # 1 is NORMAL (SQLite, PRAGMA synchronous)
        assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_even_a_fault_of_our_own_answers_every_receipt(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(path: Path) -> sqlite3.Connection:
        raise RuntimeError("a slip of ours")

    monkeypatch.setattr(connect, "for_writing", broken)
    told_once(path, "a slip of ours", reads_too=True)
