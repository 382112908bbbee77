"""Log files taken into each other: old ones, strange ones, damaged ones, and programs killed in the midst of it."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.log.programs import line, program
from tests.log.test_faults import unprivileged
from trainer.errors import ChangeoverError, Problem
from trainer.log.history import History, reading
from trainer.log.merge import merge
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import Attempt, Run, Timing

OLD = sorted((Path(__file__).parent / "schemas").glob("*.sql"))
"""A dump of a log as each former format left it."""
MINE, THEIRS = Run("mine", "Two shapes", 0.0, Timing.LEAVE), Run("theirs", "Three shapes", 90.0, Timing.HEARD)
HEARD = Measures("six strings", "none", change_ms=500.0, gap_ms=12.0, kept_down={1: Answer.YES}, wrong=(54,))


def attempt(name: str, run: Run = MINE, at: float = 60.0) -> Attempt:
    measures = HEARD if run.timing is Timing.HEARD else None
    return Attempt(name, run.id, "one", at, run.timing, "keys", 500.0, measures=measures)


def write(path: Path, run: Run, *attempts: Attempt) -> None:
    with Log.open(path) as log:
        assert log.begin(run).result(30) is None
        assert [log.add(attempt).result(30) for attempt in attempts] == [None] * len(attempts)


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    """A log of two changes."""
    path = tmp_path / "home" / "practice.sqlite3"
    write(path, MINE, attempt("a"), attempt("b", at=61.0))
    return path


@pytest.fixture
def theirs(tmp_path: Path) -> Path:
    """A log of forty changes that were heard, as one file."""
    path = tmp_path / "stick" / "seat.sqlite3"
    write(path, THEIRS, *(attempt(f"t{n}", THEIRS, 100.0 + n) for n in range(40)))
    return path


def everything(history: History) -> tuple[object, ...]:
    """Return all that can be asked of a log."""
    runs = history.runs(newest=1000)
    summaries = history.summaries()
    return (
        summaries,
        runs,
        [history.of_run(run.id) for run in runs],
        [history.attempts(summary.series) for summary in summaries],
        [history.runs_of_series(summary.series) for summary in summaries],
        history.weeks(0.0),
        history.drills_played(),
    )


def told(path: Path) -> tuple[object, ...]:
    with reading(path) as history:
        return everything(history)


def ids(path: Path) -> set[str]:
    with reading(path) as history:
        return {attempt.id for run in history.runs(newest=1000) for attempt in history.of_run(run.id)}


def sound(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def refused(source: Path, into: Path) -> Problem:
    """Return the one thing that is said of a merge that does nothing."""
    before = told(into)
    with pytest.raises(ChangeoverError) as caught:
        merge(source, into)
    assert told(into) == before
    (problem,) = caught.value.problems
    assert problem.hint
    return problem


def test_a_log_is_taken_in_once_however_often(mine: Path, theirs: Path) -> None:
    before = theirs.read_bytes()
    first = merge(theirs, mine)
    assert (first.runs, first.new, first.known, first.drills) == (1, 40, 0, (("Three shapes", 40),))
    once = told(mine)
    again = merge(theirs, mine)
    assert (again.runs, again.new, again.known, again.fuller, again.drills) == (0, 0, 40, 0, ())
    assert told(mine) == once
    assert ids(mine) == {"a", "b", *(f"t{n}" for n in range(40))}
    assert theirs.read_bytes() == before
    sound(mine)


def test_a_first_log_is_made_of_the_one_taken_in(tmp_path: Path, theirs: Path) -> None:
    into = tmp_path / "new" / "practice.sqlite3"
    merge(theirs, into)
    assert told(into) == told(theirs)


def test_a_dry_run_says_the_same_and_writes_nothing(tmp_path: Path, mine: Path, theirs: Path) -> None:
    before = mine.read_bytes()
    nowhere = tmp_path / "nowhere" / "practice.sqlite3"
    assert merge(theirs, nowhere, dry_run=True).new == 40
    assert not nowhere.parent.exists()
    said = merge(theirs, mine, dry_run=True)
    assert mine.read_bytes() == before
    assert said == merge(theirs, mine)


@pytest.mark.parametrize("dump", OLD, ids=lambda dump: dump.stem)
def test_a_log_of_every_former_format_is_taken_in_and_left_as_it_is(tmp_path: Path, mine: Path, dump: Path) -> None:
    old, own = tmp_path / "old.sqlite3", tmp_path / "own.sqlite3"
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript(dump.read_text())
    own.write_bytes(old.read_bytes())
    before = old.read_bytes()
    brought = merge(old, mine)
    assert brought.new == len(ids(old)) > 0
    assert ids(mine) == {"a", "b"} | ids(old)
    assert old.read_bytes() == before
    # And into one: ours is brought up to date as it is whenever practice writes to it.
    merge(mine, own)
    assert ids(own) == ids(mine)


def test_a_log_that_practice_writes_to_at_this_moment_is_taken_in_as_it_stands(mine: Path, theirs: Path) -> None:
    with Log.open(theirs) as log:
        log.add(attempt("late", THEIRS, 200.0)).result(30)
        assert merge(theirs, mine).new == 41


def _newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("INSERT INTO migrations (number, name) VALUES (999, 'to come')")


def _anothers(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE things (n INTEGER)")


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-8192])


def _infinite(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE attempts SET at = 9e999 WHERE id = 't3'")


def _unknown_word(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE series SET timing = 'guessed'")


def _orphan(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DELETE FROM runs")


def _no_table(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DROP TABLE notes")


def _refused_by_the_schema(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DROP TABLE notes")
        connection.execute("CREATE TABLE notes (attempt, what, place, string, midi)")
        connection.execute("INSERT INTO notes SELECT attempt, 'wrong', 0, 1, 128 FROM measures")  # no MIDI note


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (_newer, f"the practice log has format 999, this program knows up to {MIGRATIONS[-1].number}"),
        (_anothers, "this file is the database of another program"),
        (_cut, "the practice log is damaged"),
        (_infinite, "the practice log is damaged"),
        (_unknown_word, "the practice log is damaged"),
        (_orphan, "the practice log is damaged"),
        (_refused_by_the_schema, "the practice log is damaged"),
        (_no_table, "the practice log cannot be used: no such table: notes"),
        (Path.unlink, "there is no such file"),
        (lambda path: path.write_text("a shopping list\n" * 99), "this file is not a practice log"),
        (lambda path: path.write_text(""), "this file is empty, not a practice log"),
    ],
)
def test_what_is_no_sound_log_is_refused_and_nothing_changes(
    mine: Path, theirs: Path, spoil: Callable[[Path], object], what: str
) -> None:
    spoil(theirs)
    problem = refused(theirs, mine)
    assert (problem.what, problem.file) == (what, str(theirs))
    assert problem.hint is not None
    assert "move the file away" not in problem.hint
    if what == "the practice log is damaged":
        assert problem.hint == (
            "nothing was changed; fetch the file once more, or 'changeover mend FILE' saves what can still be read"
        )


def test_a_folder_and_the_log_itself_under_whatever_name_are_refused(mine: Path) -> None:
    assert refused(mine.parent, mine).what == "there is no such file"
    assert refused(mine, mine).what == "this file is the practice log itself"
    by_another_name = mine.with_name("other.sqlite3")
    by_another_name.symlink_to(mine)
    assert refused(by_another_name, mine).what == "this file is the practice log itself"


def test_what_is_wrong_with_our_own_log_is_said_of_it(mine: Path, theirs: Path) -> None:
    mine.write_bytes(b"x" * 5000)
    with pytest.raises(ChangeoverError) as caught:
        merge(theirs, mine)
    (problem,) = caught.value.problems
    assert (problem.what, problem.file) == ("this file is not a practice log", str(mine))
    assert mine.read_bytes() == b"x" * 5000


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(st.floats(0.0, 1.0, exclude_max=True), st.integers(1, 255))
def test_one_changed_byte_never_harms_the_log_it_is_taken_into(
    tmp_path: Path, mine: Path, theirs: Path, place: float, change: int
) -> None:
    """Whatever the byte: either one line and nothing changed, or a log of which everything can still be asked."""
    content = bytearray(theirs.read_bytes())
    content[int(place * len(content))] ^= change
    spoilt, into = tmp_path / "spoilt.sqlite3", tmp_path / "into.sqlite3"
    for path, data in ((spoilt, bytes(content)), (into, mine.read_bytes())):
        for beside in ("-wal", "-shm"):
            path.with_name(path.name + beside).unlink(missing_ok=True)
        path.write_bytes(data)
    before = told(into)
    said: list[Problem] = []
    try:
        merge(spoilt, into)
    except ChangeoverError as error:
        said += error.problems
    if said:
        assert [problem.file for problem in said] == [str(spoilt)]
        assert told(into) == before
    assert {"a", "b"} <= ids(into)
    assert told(into)
    sound(into)


STOP_AT = """
import sys
from pathlib import Path
from trainer.log import connect, merge

opened = connect.for_writing

left = int(sys.argv[4])

def stop(statement):
    global left
    left -= statement.lstrip().startswith(sys.argv[3])
    if not left:
        print("stopped", flush=True)
        sys.stdin.read()

def watched(path):
    connection = opened(path)
    connection.set_trace_callback(stop)
    return connection

connect.for_writing = watched
merge.merge(Path(sys.argv[1]), Path(sys.argv[2]))
print("done", flush=True)
"""


@pytest.mark.parametrize(
    ("statement", "nth", "merged"),
    [
        ("CREATE TEMP TABLE their_guitars", 1, False),
        ("COMMIT", 1, False),  # of the copy beside the log
        ("BEGIN IMMEDIATE", 1, False),
        ("INSERT INTO main.runs", 1, False),
        ("INSERT INTO main.attempts", 1, False),
        ("INSERT INTO main.measures", 1, False),
        ("UPDATE series SET median_ms", 1, False),
        ("COMMIT", 2, False),
        ("PRAGMA wal_checkpoint", 1, True),
    ],
)
def test_a_program_killed_while_it_merges_leaves_all_of_it_or_nothing(
    mine: Path, theirs: Path, statement: str, nth: int, merged: bool
) -> None:
    before = told(mine)
    with program(STOP_AT, theirs, mine, statement, nth) as process:
        assert line(process) == "stopped"
        process.kill()
        process.wait()
    sound(mine)
    if not merged:
        assert told(mine) == before
    assert merge(theirs, mine).new == (0 if merged else 40)
    assert ids(mine) == {"a", "b", *(f"t{n}" for n in range(40))}
    sound(mine)


def test_a_log_on_a_stick_that_allows_no_writing_is_taken_in(theirs: Path) -> None:
    with tempfile.TemporaryDirectory() as name:  # which everybody may look into, unlike the runner's
        stick, home = Path(name, "stick"), Path(name, "home")
        for folder in (stick, home):
            folder.mkdir()
        log = stick / "seat.sqlite3"
        log.write_bytes(theirs.read_bytes())
        Path(name).chmod(0o755)
        home.chmod(0o777)
        stick.chmod(0o555)
        with unprivileged():
            assert merge(log, home / "practice.sqlite3").new == 40
        assert list(stick.iterdir()) == [log]


def test_moments_that_no_calendar_knows_are_taken_in_like_any_other(tmp_path: Path, mine: Path) -> None:
    far = tmp_path / "far.sqlite3"
    write(far, replace(MINE, id="far", at=-1e17), attempt("far", replace(MINE, id="far"), 3e17))
    assert merge(far, mine).new == 1
    assert "far" in ids(mine)


def test_an_empty_log_brings_nothing(tmp_path: Path, mine: Path) -> None:
    bare = tmp_path / "bare.sqlite3"
    with closing(sqlite3.connect(bare, isolation_level=None)) as connection:
        migrate(connection)
    before = told(mine)
    assert merge(bare, mine).new == 0
    assert told(mine) == before
