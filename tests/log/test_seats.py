"""A class's seats: a round into each log, the rounds of one, and one as a file to take home."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from threading import Timer

import pytest

from trainer.errors import ChangeoverError
from trainer.log import connect, seats
from trainer.log.history import reading
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.log.seats import Played
from trainer.practice.marked import TEACHER, Marked
from trainer.practice.record import Attempt, Run, Series, Timing


def entry(name: str, *clean: bool | None, landed: int | None = None, tempo: float = 60.0) -> Marked:
    """Return a round with one attempt for each of `clean`."""
    run = Run(f"run {name}", "Four chords", 100.0, Timing.BEAT, tempo, asked=len(clean), landed=landed)
    return Marked(
        run,
        tuple(
            Attempt(f"{name}{number}", run.id, "a change", 104.0, Timing.BEAT, TEACHER, None, clean=said, tempo=tempo)
            for number, said in enumerate(clean)
        ),
    )


def played(path: Path) -> list[Played]:
    with reading(path) as history:
        return history.rounds()


def test_a_round_is_an_attempt_to_the_beat_without_a_time(tmp_path: Path) -> None:
    log = tmp_path / "seat" / "practice.sqlite3"
    assert seats.record_rounds([(log, entry("a", True, landed=1)), (log, entry("b", False, landed=0))]) == [None, None]
    with reading(log) as history:
        (summary,) = history.summaries()
        assert summary.series == Series("a change", Timing.BEAT, TEACHER, 60.0)
        assert (summary.count, summary.clean, summary.answered) == (2, 1, 2)
        assert (summary.best_ms, summary.median_ms) == (None, None)
        assert {run.id for run in history.runs()} == {"run a", "run b"}


def test_rounds_are_told_apart_from_what_a_player_did_alone(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    seats.record_round(log, entry("a", True, True, landed=2))
    seats.record_round(log, entry("b", None, None))
    # A player's own run to the beat says how many landed, and no attempt tells which.
    seats.record_round(log, Marked(Run("own", "Four chords", 50.0, Timing.BEAT, 80.0, asked=8, landed=8), ()))
    assert [(one.asked, one.landed, one.had) for one in played(log)] == [(2, 2, True), (2, None, False)]


def test_a_round_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    seats.record_round(log, entry("a", True, landed=1))
    # The file refuses a tempo of nought, here in the series of the attempt, after the run was written.
    broken = entry("b", True, landed=1)
    bad = Marked(broken.run, (Attempt("b0", "run b", "a change", 0.0, Timing.BEAT, TEACHER, None, tempo=-1.0),))
    with pytest.raises(ChangeoverError):
        seats.record_round(log, bad)
    assert len(played(log)) == 1
    with reading(log) as history:
        assert [run.id for run in history.runs()] == ["run a"]


def test_one_seat_that_cannot_be_written_leaves_the_others_be(tmp_path: Path) -> None:
    bad = tmp_path / "bad.sqlite3"
    bad.write_text("somebody's letter, long enough to be taken for a database of one page" * 20, "utf-8")
    logs = [tmp_path / "1" / "log", bad, tmp_path / "3" / "log"]
    told = seats.record_rounds([(log, entry(str(n), True, landed=1)) for n, log in enumerate(logs)])
    assert [problem and problem.what for problem in told] == [None, "this file is not a practice log", None]
    assert [len(played(log)) for log in (logs[0], logs[2])] == [1, 1]
    assert bad.read_text("utf-8").startswith("somebody's letter")


def test_a_round_waits_for_another_program_but_not_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tmp_path / "practice.sqlite3"
    seats.record_round(log, entry("a", True, landed=1))
    with closing(sqlite3.connect(log, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        # Longer than SQLite itself waits in a log of ours.
        letting_go = Timer(0.4, other.rollback)
        letting_go.start()
        seats.record_round(log, entry("b", True, landed=1))
        letting_go.join()
        assert len(played(log)) == 2
        monkeypatch.setattr(seats, "_PATIENCE_S", 0.0)
        other.execute("BEGIN IMMEDIATE")
        (problem,) = seats.record_rounds([(log, entry("c", True, landed=1))])
        assert problem is not None
        assert problem.what == "another program keeps the practice log locked"
        other.rollback()
    assert len(played(log)) == 2


def test_a_log_goes_home_as_one_whole_file(tmp_path: Path) -> None:
    log, home = tmp_path / "practice.sqlite3", tmp_path / "home.sqlite3"
    seats.record_round(log, entry("a", True, landed=1))
    # A write-ahead log that is still open, as the app at that seat has it.
    with closing(connect.for_writing(log)):
        seats.record_round(log, entry("b", False, landed=0))
        home.write_bytes(seats.whole(log))
    # Neither the write-ahead log nor its marks in the header: it can be read from a disk that is write-protected.
    assert home.read_bytes()[18:20] == b"\x01\x01"
    assert played(home) == played(log)
    seats.record_round(home, entry("c", True, landed=1))
    assert len(played(home)) == 3


def test_a_log_of_an_older_format_goes_home_in_the_newest(tmp_path: Path) -> None:
    log, home = tmp_path / "practice.sqlite3", tmp_path / "home.sqlite3"
    with closing(sqlite3.connect(log, isolation_level=None)) as connection:
        migrate(connection, MIGRATIONS[:3])
    home.write_bytes(seats.whole(log))
    with closing(sqlite3.connect(home)) as connection:
        assert connection.execute("SELECT max(number) FROM migrations").fetchone() == (MIGRATIONS[-1].number,)
