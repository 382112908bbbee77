"""The log's schema grows by steps; every old log comes through them with what it holds."""

from __future__ import annotations

import sqlite3
import statistics as standard
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from trainer.log import quarters
from trainer.log.history import reading
from trainer.log.migrations import APPLICATION, MIGRATIONS, Migration, migrate, version
from trainer.practice.record import Attempt, How, Run, Series, Texture, Timing

OLD = sorted((Path(__file__).parent / "schemas").glob("*.sql"))
"""A dump of a log as each former format left it, named after its number; made once, never edited."""
KEY = "E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0"


def empty() -> sqlite3.Connection:
    return sqlite3.connect(":memory:", isolation_level=None)


def schema(connection: sqlite3.Connection) -> set[tuple[str, str, str]]:
    return set(connection.execute("SELECT type, name, sql FROM sqlite_schema"))


def load(path: Path, dump: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(dump.read_text())


def test_steps_are_numbered_without_gaps() -> None:
    assert [step.number for step in MIGRATIONS] == list(range(1, len(MIGRATIONS) + 1))


def test_every_former_format_has_its_dump() -> None:
    assert [int(dump.stem) for dump in OLD] == [step.number for step in MIGRATIONS[:-1]]


@pytest.mark.parametrize("dump", OLD, ids=lambda dump: dump.stem)
def test_a_released_step_was_not_edited(dump: Path) -> None:
    with closing(empty()) as old, closing(empty()) as built:
        old.executescript(dump.read_text())
        migrate(built, MIGRATIONS[: int(dump.stem)])
        assert schema(old) == schema(built)


@pytest.mark.parametrize("dump", OLD, ids=lambda dump: dump.stem)
def test_an_old_log_becomes_what_a_new_one_is(dump: Path) -> None:
    with closing(empty()) as old, closing(empty()) as new:
        old.executescript(dump.read_text())
        assert version(old) == int(dump.stem)
        migrate(old)
        migrate(new)
        assert schema(old) == schema(new)
        assert version(old) == version(new) == MIGRATIONS[-1].number
        assert old.execute("PRAGMA application_id").fetchone() == (APPLICATION,)


def test_what_the_first_format_held_is_all_there(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    load(path, OLD[0])
    untimed = Attempt(
        "attempt-5", "run-2", KEY, 1700000505.0, Timing.BEAT, "pedal", None, True, 60.0, texture=Texture.FIGURE
    )
    with reading(path) as history:
        fast, paced = history.summaries()
        assert fast.series == Series(KEY, Timing.LEAVE, "keys")
        # Times 900, 700, 800.5 and 650.25 ms, the last three said to be clean, unclean, clean: by hand.
        assert (fast.count, fast.best_ms, fast.median_ms, fast.clean, fast.answered) == (4, 650.25, 750.25, 2, 3)
        assert fast.last_at == 1700000040.0
        assert paced.series == Series(KEY, Timing.BEAT, "pedal", 60.0, Texture.FIGURE)
        assert (paced.count, paced.best_ms, paced.median_ms, paced.clean, paced.answered) == (2, None, None, 1, 1)
        assert history.attempts(paced.series) == [
            untimed,
            replace(untimed, id="attempt-6", at=1700000506.0, clean=None),
        ]
        assert history.runs() == [
            Run("run-2", "On the beat", 1700000500.0, Timing.BEAT, 60.0, 8, 7),
            Run("run-1", "Two shapes", 1700000000.0, Timing.LEAVE, remark="hands cold"),
        ]


def test_what_was_played_before_anybody_recalled_anything_was_read(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    load(path, OLD[2])
    with reading(path) as history:
        stands = {one.series.timing: (one.series.how, one.count) for one in history.summaries()}
        (heard,) = history.attempts(Series(KEY, Timing.HEARD, "Demo guitar:strings", 72.0))
    assert stands == {Timing.LEAVE: (How.READ, 4), Timing.BEAT: (How.READ, 2), Timing.HEARD: (How.READ, 1)}
    assert heard.measures is not None
    assert (heard.change_ms, heard.measures.gap_ms, heard.measures.lateness_ms) == (512.5, 40.0, 8.0)


def test_a_run_with_anything_recalled_in_it_was_recalled(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    load(path, OLD[3])
    with reading(path) as history:
        hows = {run.id: run.how for run in history.runs()}
    assert hows == {"run-1": How.READ, "run-2": How.READ, "run-by-heart": How.RECALLED}


def test_reading_an_old_log_leaves_it_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    load(path, OLD[0])
    before = path.read_bytes()
    with reading(path) as history:
        assert history.summaries()
    assert path.read_bytes() == before


@pytest.mark.parametrize("count", [1, 2, 3, 4, 199, 200, 201, 555])
def test_the_summaries_step_takes_the_median_of_the_newest_two_hundred(count: int) -> None:
    times = [float(n * 7919 % 1009) for n in range(count)]
    with closing(empty()) as connection:
        migrate(connection, MIGRATIONS[:1])
        connection.execute("INSERT INTO runs (id, drill, at, timing) VALUES ('r', 'd', 0, 'leave')")
        connection.execute(
            "INSERT INTO series (change, timing, source, texture) VALUES ('k', 'leave', 'keys', 'block')"
        )
        connection.executemany(
            "INSERT INTO attempts (id, run, series, at, change_ms) VALUES (?, 1, 1, ?, ?)",
            [(str(n), float(n), ms) for n, ms in enumerate(times)],
        )
        migrate(connection)
        (median, best) = connection.execute("SELECT median_ms, best_ms FROM series").fetchone()
    assert median == standard.median(times[-200:])
    assert best == min(times)


def test_the_quarters_step_sums_up_each_run_as_every_program_goes_on_to_do() -> None:
    with closing(empty()) as connection:
        migrate(connection, MIGRATIONS[:5])
        for name, began in (("long", 0.0), ("short", 850.0), ("nothing", 900.0)):
            connection.execute("INSERT INTO runs (id, drill, at, timing) VALUES (?, 'd', ?, 'leave')", (name, began))
        connection.execute(
            "INSERT INTO series (change, timing, source, texture) VALUES ('k', 'leave', 'keys', 'block')"
        )
        connection.executemany(
            "INSERT INTO attempts (id, run, series, at, clean) VALUES (?, ?, 1, ?, ?)",
            [
                *(("a", 1, 10.0, None), ("b", 1, 30.0, 1), ("d", 1, 905.0, 0), ("c", 1, 890.0, 0)),
                *(("e", 1, 4000.0, None), ("f", 2, 855.0, 1), ("g", 2, 840.0, None)),
            ],
        )
        migrate(connection)
        stands = connection.execute("SELECT * FROM quarters ORDER BY run, quarter").fetchall()
        # Run, quarter, tries, clean, answered, seconds of playing (no pause more than a minute), last: by hand.
        assert stands == [
            (1, 0, 3, 1, 2, 10.0 + 20.0 + 60.0, 890.0),
            (1, 1, 1, 0, 1, 15.0, 905.0),
            (1, 4, 1, 0, 0, 60.0, 4000.0),
            (2, 0, 2, 1, 1, 0.0 + 15.0, 855.0),
        ]
        for run in (1, 2, 3):
            quarters.sum_up(connection, run)
        assert connection.execute("SELECT * FROM quarters ORDER BY run, quarter").fetchall() == stands


def test_a_step_that_fails_leaves_nothing_behind() -> None:
    half = Migration(len(MIGRATIONS) + 1, "half a step", ("CREATE TABLE half (n INTEGER)", "CREATE NONSENSE"))
    with closing(empty()) as connection:
        migrate(connection)
        before = schema(connection)
        with pytest.raises(sqlite3.OperationalError, match="NONSENSE"):
            migrate(connection, (*MIGRATIONS, half))
        assert schema(connection) == before
        assert version(connection) == MIGRATIONS[-1].number
        assert not connection.in_transaction


def test_taking_the_steps_again_changes_nothing() -> None:
    with closing(empty()) as connection:
        migrate(connection)
        before = connection.total_changes
        migrate(connection)
        assert connection.total_changes == before
        assert connection.execute("SELECT number FROM migrations").fetchall() == [(step.number,) for step in MIGRATIONS]
