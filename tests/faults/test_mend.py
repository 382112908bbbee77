"""A damaged log mended: what its sound pages held is saved, nothing is made up, the damaged file stays.

What counts as saved is held against two readings that share no code with ours: all rows of the log before it was
damaged, and what SQLite itself still reads of the damaged one, by ranges of row numbers, halved round what fails.
"""

from __future__ import annotations

import errno
import json
import os
import random
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from tests.log.programs import line, program
from tests.log.test_faults import unprivileged
from tests.terminal.person import Terminal
from trainer.cli import main
from trainer.errors import ChangeoverError
from trainer.log.history import reading
from trainer.log.mend import Mended, mend
from trainer.log.mending import swap
from trainer.log.mending.forms import FORMS
from trainer.log.mending.salvage import LOST_TITLE
from trainer.log.merge import merge
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.log.union import TABLES
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Attempt, How, Run, Texture, Timing

Rows: TypeAlias = dict[Any, tuple[Any, ...]]
TODAY = date(2026, 2, 27)
PAGE = 4096
CHANGES, TAKEN_BACK = 900, 240
OLD = sorted((Path(__file__).parents[1] / "log" / "schemas").glob("*.sql"))
"""A dump of a log as each former format left it."""
HEARD = Measures(
    "six strings",
    "none",
    change_ms=500.0,
    gap_ms=12.5,
    direction=Direction.BLOCK,
    kept_down={1: Answer.YES, 2: Answer.NO},
    missing=((6, 40),),
    wrong=(54,),
)
ENTRIES = {
    "series": "n, change, timing, source, tempo, texture, how",
    "runs": "n, id, drill, at, timing, tempo, asked, landed, remark, how",
    "attempts": "n, id, run, series, at, change_ms, clean",
    "measures": "attempt, guitar, expected, gap_ms, direction, balance",
    "fingers": "attempt, asked, finger, answer",
    "notes": "attempt, what, place, string, midi",
}
"""What is compared of each table; its first columns tell a row."""
KEYS = {"fingers": 3, "notes": 3}
TITLE, CLEAN = 2, 6
"""Where a run's title stands, and at the end whether a change was clean."""


def attempt(n: int) -> Attempt:
    run = n // 60
    at = 1.7e9 + 86400.0 * run + n + 0.25 * (n % 2)
    change, clean = f"E2 A2 D3 G3 B3 E4 | 0 | shape {n % 7} | shape {n % 7 + 1}", (None, True, False)[n % 3]
    if run % 3 == 1:
        how = How.RECALLED if n % 2 else How.READ
        return Attempt(f"{n:036}", f"run {run}", change, at, Timing.CUE, "keys", 700.0 + n / 7, clean, how=how)
    if run % 3 == 2:
        measures, clean = HEARD, clean or False
        texture = Texture.ROLLED
        return Attempt(
            f"{n:036}", f"run {run}", change, at, Timing.HEARD, "in", 500.0, clean, 72.0, texture, measures=measures
        )
    return Attempt(f"{n:036}", f"run {run}", change, at, Timing.LEAVE, "keys", 700.0 + n, clean)


@pytest.fixture(scope="module")
def sound() -> bytes:
    """The bytes of a log of changes timed in every way, some of them taken back, one run with a remark pages long."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "practice.sqlite3"
        with Log.open(path) as log:
            for n in range(CHANGES):
                found = attempt(n)
                if n % 60 == 0:
                    log.begin(Run(found.run, f"Étude {n}", found.at, found.timing, found.tempo))
                log.add(found)
            log.finish("run 3", asked=60, landed=59, remark="cold hands " * 900)
            for n in range(400, 400 + TAKEN_BACK):
                assert log.take_back(attempt(n).id).result(30) is None
        content = path.read_bytes()
    assert len(content) > 50 * PAGE
    assert content[36:40] != bytes(4)  # pages were given up, and the rows taken back still lie in them
    return content


@pytest.fixture(scope="module")
def before(sound: bytes, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Rows]:
    path = tmp_path_factory.mktemp("sound") / "practice.sqlite3"
    path.write_bytes(sound)
    return entries(path)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "practice.sqlite3"


def entries(path: Path) -> dict[str, Rows]:
    """Return every entry of a sound log, by table and key."""
    with closing(sqlite3.connect(path)) as log:
        return {
            table: {row[: KEYS.get(table, 1)]: row for row in log.execute(f"SELECT {columns} FROM {table}")}
            for table, columns in ENTRIES.items()
        }


def still_read(path: Path, table: str) -> Rows:
    """Return the rows of a numbered table that SQLite reads by their numbers, without any index."""

    def between(least: int, most: int) -> Iterator[tuple[Any, ...]]:
        try:
            with closing(sqlite3.connect(f"{path.as_uri()}?immutable=1", uri=True)) as log:
                columns = ENTRIES[table]
                yield from log.execute(
                    f"SELECT {columns} FROM {table} NOT INDEXED WHERE n BETWEEN ? AND ?", (least, most)
                ).fetchall()
        except (sqlite3.Error, UnicodeDecodeError):
            if least < most:
                middle = (least + most) // 2
                yield from between(least, middle)
                yield from between(middle + 1, most)

    return {row[:1]: row for row in between(0, 1023)}


def mended(path: Path, content: bytes) -> Mended | None:
    """Mend a log of these bytes, and hold what must be true of every mending."""
    for left in path.parent.iterdir():
        left.unlink()
    path.write_bytes(content)
    found = mend(path, TODAY)
    if found is None:
        assert path.read_bytes() == content
        return None
    assert found.log == path
    assert found.damaged.name == "practice.damaged-2026-02-27.sqlite3"
    assert found.damaged.read_bytes() == content
    assert set(path.parent.iterdir()) == {path, found.damaged}
    with closing(sqlite3.connect(path)) as log:
        assert log.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert log.execute("PRAGMA foreign_key_check").fetchall() == []
        assert log.execute("SELECT count(*), min(at), max(at) FROM attempts").fetchone() == (
            *(found.saved.changes, found.saved.first, found.saved.last),
        )
    with reading(path) as history:
        assert sum(summary.count for summary in history.summaries()) == found.saved.changes
    assert mend(path, TODAY) is None  # there is nothing more to mend
    return found


def strange(found: Mended, before: dict[str, Rows]) -> int:
    """Return how many saved rows the log did not hold before; what is said to be lost of a row is not counted."""
    after = entries(found.log)
    first: dict[Any, tuple[Any, ...]] = {}
    for _, name, run, _, at, *_ in after["attempts"].values():
        first[run] = min(first.get(run, (at, name)), (at, name))
    untitled = {key for key, row in after["runs"].items() if row[TITLE] == LOST_TITLE}
    unmarked = {
        key for key, row in after["attempts"].items() if row == (*before["attempts"].get(key, ())[:CLEAN], None)
    }
    assert len(untitled) == found.saved.untitled
    assert len(unmarked) >= found.saved.unmarked
    count = 0
    for table, rows in after.items():
        for key, row in rows.items():
            held = before[table].get(key)
            if held is not None and table == "attempts" and key in unmarked:
                held = (*held[:CLEAN], None)
            elif held is not None and table == "runs" and key in untitled:
                n, name, _, at, timing, tempo, *_ = held
                names, times = (name, f"(run of {first[n][1]})"), (at, first[n][0])
                # How many were asked and landed and the remark stand in no index either.
                held = (n, row[1], LOST_TITLE, row[3], timing, tempo, None, None, None, row[9])
                count += row[1] not in names or row[3] not in times
            count += row != held
    return count


def holds_what_sqlite_reads(found: Mended, damaged: bytes, before: dict[str, Rows]) -> None:
    """Hold that every row is saved that SQLite reads, but for changes whose series is lost.

    Where a file is cut off, SQLite reads zeros: rows that it tells otherwise than they were do not count.
    """
    saved = entries(found.log)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "damaged.sqlite3"
        copy.write_bytes(damaged)
        read = {table: still_read(copy, table) for table in ("runs", "series", "attempts")}
    for table, rows in read.items():
        for key, row in rows.items():
            if row == before[table].get(key) and (table != "attempts" or row[3:4] in saved["series"]):
                assert saved[table].get(key) == row
    assert found.saved.unmarked <= found.saved.changes - len(read["attempts"].keys() & saved["attempts"].keys())


def without(content: bytes, *numbers: int) -> bytes:
    """Return the content with some pages full of zeros."""
    pages = [content[at : at + PAGE] for at in range(0, len(content), PAGE)]
    return b"".join(bytes(PAGE) if number in numbers else page for number, page in enumerate(pages, 1))


@pytest.mark.parametrize("part", range(8))
def test_without_any_one_page_every_change_is_saved(
    path: Path, sound: bytes, before: dict[str, Rows], part: int
) -> None:
    list_of_given_up = int.from_bytes(sound[32:36], "big")
    for number in range(1 + part, len(sound) // PAGE + 1, 8):
        damaged = without(sound, number)
        found = mended(path, damaged)
        if found is None:
            continue  # nothing stood in it
        assert found.saved.deleted_told == (number not in {1, list_of_given_up})
        extra = 0 if found.saved.deleted_told else TAKEN_BACK
        assert CHANGES - TAKEN_BACK <= found.saved.changes <= CHANGES - TAKEN_BACK + extra
        assert found.saved.unread == 0
        if not extra:
            assert strange(found, before) == 0
        holds_what_sqlite_reads(found, damaged, before)


@pytest.mark.parametrize("seed", range(24))
def test_without_many_pages_all_that_is_left_is_saved_and_nothing_made_up(
    path: Path, sound: bytes, before: dict[str, Rows], seed: int
) -> None:
    chance = random.Random(seed)
    kept = {1, int.from_bytes(sound[32:36], "big")}
    numbers = chance.sample([n for n in range(1, len(sound) // PAGE + 1) if n not in kept], 1 + seed)
    damaged = without(sound, *numbers)
    found = mended(path, damaged)
    assert found is not None
    assert strange(found, before) == 0
    holds_what_sqlite_reads(found, damaged, before)
    assert found.saved.changes + found.saved.unread <= CHANGES - TAKEN_BACK
    if found.saved.all_counted:
        assert found.saved.changes + found.saved.unread == CHANGES - TAKEN_BACK


@pytest.mark.parametrize("part", [0.05, 0.2, 0.4, 0.55, 0.7, 0.83, 0.9, 0.97, 0.999])
def test_what_stands_before_the_end_of_a_file_cut_off_is_saved(
    path: Path, sound: bytes, before: dict[str, Rows], part: float
) -> None:
    damaged = sound[: int(len(sound) * part)]
    found = mended(path, damaged)
    assert found is not None
    if found.saved.deleted_told:
        assert strange(found, before) == 0
    holds_what_sqlite_reads(found, damaged, before)


@pytest.mark.parametrize("seed", range(10))
def test_one_changed_byte_costs_one_entry_at_most(path: Path, sound: bytes, before: dict[str, Rows], seed: int) -> None:
    """SQLite keeps no checksum of a page: a letter or number changed within a row is read as it stands now."""
    chance = random.Random(seed)
    for _ in range(12):
        damaged = bytearray(sound)
        damaged[chance.randrange(len(sound))] ^= chance.randrange(1, 256)
        found = mended(path, bytes(damaged))
        if found is not None:
            extra = 0 if found.saved.deleted_told else TAKEN_BACK
            assert CHANGES - TAKEN_BACK - 1 <= found.saved.changes <= CHANGES - TAKEN_BACK + extra
            if not extra:
                assert strange(found, before) <= 1


def test_a_log_that_lost_an_index_only_comes_out_as_it_was(path: Path, sound: bytes) -> None:
    path.write_bytes(sound)
    with closing(sqlite3.connect(path)) as log:
        (root,) = log.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'runs_by_time'").fetchone()
        whole = contents(log)
    found = mended(path, without(sound, root))
    assert found is not None
    with closing(sqlite3.connect(path)) as log:
        assert contents(log) == whole


def contents(log: sqlite3.Connection) -> dict[str, set[object]]:
    """Return every row of every table, summaries too, but when each format was reached."""
    tables = [name for (name,) in log.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
    return {table: set(log.execute(f"SELECT * FROM {table}")) for table in tables if table != "migrations"}


PLAYED = "SELECT id, run, drill, at, change, timing, tempo, how, change_ms, clean, gap_ms, direction FROM played"
BESIDE = "SELECT a.id, t.* FROM {} AS t JOIN attempts AS a ON a.n = t.attempt"


def told(path: Path) -> list[set[tuple[Any, ...]]]:
    """Return what a log tells of each attempt, in words that mean the same in every log."""
    with closing(sqlite3.connect(path)) as log:
        beside = [{(row[0], *row[2:]) for row in log.execute(BESIDE.format(table))} for table in ("fingers", "notes")]
        return [set(log.execute(PLAYED)), *beside]


@pytest.mark.parametrize("lost", ["runs", "runs and their names", "every other page"])
def test_what_a_mended_log_lacks_comes_back_with_a_copy_that_was_taken_away(
    tmp_path: Path, path: Path, sound: bytes, lost: str
) -> None:
    copy = tmp_path / "away" / "copy.sqlite3"
    copy.parent.mkdir()
    copy.write_bytes(sound)
    with closing(sqlite3.connect(copy)) as log:
        roots = dict(log.execute("SELECT name, rootpage FROM sqlite_schema"))
    pages = {
        "runs": (roots["runs"],),
        "runs and their names": (roots["runs"], roots["sqlite_autoindex_runs_1"]),
        "every other page": range(10, len(sound) // PAGE, 2),
    }
    path.write_bytes(without(sound, *pages[lost]))
    assert mend(path, TODAY) is not None
    assert told(path) != told(copy)
    merge(copy, path)
    assert told(path) == told(copy)


@pytest.mark.parametrize("dump", OLD, ids=lambda dump: dump.stem)
def test_a_log_of_every_former_format_is_saved_in_that_of_today(tmp_path: Path, path: Path, dump: Path) -> None:
    old = tmp_path / "old.sqlite3"
    with closing(sqlite3.connect(old, isolation_level=None)) as connection:
        connection.executescript(dump.read_text())
    content = old.read_bytes()
    with closing(sqlite3.connect(old, isolation_level=None)) as connection:
        migrate(connection)
    before = entries(old)
    saved = 0
    for number in range(1, len(content) // PAGE + 1):
        found = mended(path, without(content, number))
        if found is not None:
            assert strange(found, before) == 0
            saved += found.saved.changes == len(before["attempts"])
    assert saved >= len(content) // PAGE - 2  # all pages but those of runs and series, which lie on one each


def test_what_waits_in_the_write_ahead_log_is_saved_too(tmp_path: Path, path: Path, sound: bytes) -> None:
    running = tmp_path / "running" / "practice.sqlite3"
    running.parent.mkdir()
    running.write_bytes(sound)
    with Log.open(running) as log:
        for n in range(CHANGES, CHANGES + 50):
            assert log.add(replace(attempt(n), run="run 0")).result(30) is None
        main, wal = running.read_bytes(), running.with_name(f"{running.name}-wal").read_bytes()
        before = entries(running)
    frames = range(32, len(wal), 24 + PAGE)
    waiting = {int.from_bytes(wal[at : at + 4], "big") for at in frames}
    lost = next(number for number in range(20, len(sound) // PAGE) if number not in waiting)
    # What lies behind the last commit that is whole is not part of the log: here it is the last change.
    wal = wal[:-PAGE]
    beside = path.with_name(f"{path.name}-wal")
    path.write_bytes(without(main, 1, lost))
    beside.write_bytes(wal)
    found = mend(path, TODAY)
    assert found is not None
    assert strange(found, before) == 0
    assert found.saved.changes == CHANGES - TAKEN_BACK + 49
    assert not beside.exists()
    assert found.damaged.with_name(f"{found.damaged.name}-wal").read_bytes() == wal


def test_a_sound_log_is_left_as_it_is(path: Path, sound: bytes) -> None:
    for content in (sound, b""):
        assert mended(path, content) is None
    assert list(path.parent.iterdir()) == [path]


def _newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        number = MIGRATIONS[-1].number + 1
        connection.execute("INSERT INTO migrations (number, name) VALUES (?, 'to come')", (number,))


def _anothers(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE things (n INTEGER)")


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (_newer, f"the practice log has format {MIGRATIONS[-1].number + 1}"),
        (_anothers, "nothing of a practice log can be read in this file (nothing was changed)"),
        (lambda path: path.write_text("a shopping list\n" * 99), "nothing of a practice log can be read"),
        (lambda path: path.write_bytes(bytes(90 * PAGE)), "nothing of a practice log can be read"),
        (lambda path: path.write_bytes(random.Random(1).randbytes(90 * PAGE)), "nothing of a practice log can be read"),
        (Path.unlink, "there is no such file"),
    ],
)
def test_what_is_no_damaged_log_of_ours_is_refused_and_left_as_it_is(
    path: Path, sound: bytes, spoil: Any, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path.write_bytes(sound)
    spoil(path)
    before = {left: left.read_bytes() for left in path.parent.iterdir()}
    assert main(["mend", str(path)]) == 2
    out, error = capsys.readouterr()
    assert out == ""
    assert error.count("\n") == 1
    assert f"{path}: {what}" in error
    assert {left: left.read_bytes() for left in path.parent.iterdir()} == before


def test_one_byte_that_makes_it_look_like_somebody_else_s_is_damage_like_any_other(path: Path, sound: bytes) -> None:
    application = bytearray(sound)
    application[68] ^= 1
    path.write_bytes(application)
    with pytest.raises(ChangeoverError) as told, reading(path):
        pass
    assert str(told.value.problems[0].hint).startswith("nothing was written to it; if it was one, 'changeover mend ")
    found = mended(path, bytes(application))
    assert found is not None
    assert found.saved.changes == CHANGES - TAKEN_BACK


HOLD = """
import sys
from pathlib import Path
from trainer.log.writer import Log

log = Log.open(Path(sys.argv[1]))
print(log.ready.result(), flush=True)
sys.stdin.readline()
"""


def test_a_log_that_a_running_program_has_open_is_refused(
    path: Path, sound: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    path.write_bytes(sound)
    with program(HOLD, path) as running:
        assert line(running) == "None"
        damaged = without(sound, 20)
        path.write_bytes(damaged)  # on the disk, under the running program's feet
        for into in ((), ("-o", str(path.with_name("new.sqlite3")))):
            assert main(["mend", str(path), *into]) == 2
            assert "another program has the practice log open (close Changeover" in capsys.readouterr().err
        assert not path.with_name("new.sqlite3").exists()
        assert path.read_bytes() == damaged
        running.kill()
        running.wait()
    assert mend(path, TODAY) is not None


OPEN = """
import sqlite3, sys

try:
    sqlite3.connect(sys.argv[1], timeout=0).execute("SELECT count(*) FROM sqlite_schema").fetchone()
    print("opened", flush=True)
except sqlite3.OperationalError as error:
    print(error, flush=True)
"""


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_no_program_opens_a_log_until_the_mended_one_is_in_its_place(
    path: Path, sound: bytes, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    told = []

    def asked(function: Callable[..., Any]) -> Callable[..., Any]:
        def ask(*arguments: Any, **named: Any) -> Any:
            with program(OPEN, path) as other:
                told.append(line(other))
            return function(*arguments, **named)

        return ask

    path.write_bytes(without(sound, 20))
    path.with_name("practice.damaged-2026-02-26.sqlite3").hardlink_to(path)  # as one left that was killed
    monkeypatch.setattr(swap, "put", asked(swap.put))
    monkeypatch.setattr(Path, "replace", asked(Path.replace))
    if not links:
        monkeypatch.setattr(os, "link", refused)
    found = mend(path, TODAY)
    assert told == ["database is locked"] * 2
    assert found is not None
    assert found.damaged.read_bytes() == without(sound, 20)
    with program(OPEN, path) as other:
        assert line(other) == "opened"


def refused(*_: object, **__: object) -> None:
    raise PermissionError(1, "Operation not permitted")


KILLED = """
import os, signal, sys
from datetime import date
from pathlib import Path
from trainer.log.mend import mend

left = int(sys.argv[2])

def count(event, arguments):
    global left
    writes = event == "open" and arguments[1] is not None and set(arguments[1]) & set("wxa+")
    if writes or event in {"os.link", "os.rename", "os.remove", "os.chmod"}:
        left -= 1
        if not left:
            os.kill(os.getpid(), signal.SIGKILL)

sys.addaudithook(count)
mend(Path(sys.argv[1]), date(2026, 2, 27))
print("done", flush=True)
"""


WITHOUT_LINKS = """
import os

def refuse(*_, **__):
    raise PermissionError(1, "Operation not permitted")

os.link = refuse
"""


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_killed_at_any_step_the_damaged_log_stands_or_the_mended_one(tmp_path: Path, sound: bytes, links: bool) -> None:
    damaged, waiting = without(sound, 20), b"what waits"
    path = tmp_path / "practice [1].sqlite3"
    beside = path.with_name(f"{path.name}-wal")
    ended, stood = False, set()
    for step in range(1, 30):
        for left in tmp_path.iterdir():
            left.unlink()
        path.write_bytes(damaged)
        beside.write_bytes(waiting)
        with program(KILLED if links else WITHOUT_LINKS + KILLED, path, step) as running:
            ended = line(running) == "done"
            running.wait()
        now = path.read_bytes()
        stood.add(now == damaged)
        if now == damaged:
            # What waited is beside it, or beside the copy of it under the dated name.
            assert waiting in [left.read_bytes() for left in tmp_path.glob("*-wal")]
            found = mend(path, TODAY)
            assert found is not None
            kept = found.damaged
        else:
            assert mend(path, TODAY) is None
            kept = path.with_name("practice [1].damaged-2026-02-27.sqlite3")
        aside = kept.with_name(f"{kept.name}-wal")
        assert set(tmp_path.iterdir()) == {path, kept, aside}
        assert (kept.read_bytes(), aside.read_bytes()) == (damaged, waiting)
        with reading(path) as history:
            assert sum(summary.count for summary in history.summaries()) == CHANGES - TAKEN_BACK
        if ended:
            break
    assert ended
    assert stood == {True, False}


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_where_the_system_refuses_halfway_all_is_as_it_was(
    path: Path, sound: bytes, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], links: bool
) -> None:
    damaged, beside = without(sound, 20), path.with_name(f"{path.name}-wal")
    path.write_bytes(damaged)
    beside.write_bytes(b"what waits")
    monkeypatch.setattr(Path, "replace", refused)
    if not links:
        monkeypatch.setattr(os, "link", refused)
    assert main(["mend", str(path)]) == 2
    assert capsys.readouterr().err.endswith("the practice log cannot be opened (Operation not permitted)\n")
    assert {left: left.read_bytes() for left in path.parent.iterdir()} == {path: damaged, beside: b"what waits"}


def test_a_second_damaged_log_on_one_day_gets_a_name_of_its_own(path: Path, sound: bytes) -> None:
    names = []
    for number in (20, 24):
        path.write_bytes(without(sound, number))
        found = mend(path, TODAY)
        assert found is not None
        names.append(found.damaged.name)
    assert names == ["practice.damaged-2026-02-27.sqlite3", "practice.damaged-2026-02-27-2.sqlite3"]


def test_a_log_that_may_only_be_read_is_saved_into_another_file(sound: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:  # which everybody may look into, unlike the runner's
        stick, home = Path(name, "stick"), Path(name, "home")
        for folder in (stick, home):
            folder.mkdir()
        log = stick / "practice.sqlite3"
        log.write_bytes(without(sound, 20))
        log.chmod(0o444)
        Path(name).chmod(0o755)
        home.chmod(0o777)
        stick.chmod(0o555)
        with unprivileged():
            with pytest.raises(ChangeoverError, match="Permission denied"):
                mend(log, TODAY)
            found = mend(log, TODAY, into=home / "practice.sqlite3")
        assert found is not None
        assert found.saved.changes == CHANGES - TAKEN_BACK
        assert list(stick.iterdir()) == [log]


def test_every_column_of_today_s_tables_has_its_place_in_a_form() -> None:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as log:
        migrate(log)
        for table in TABLES:
            columns = log.execute("SELECT name, type FROM pragma_table_info(?)", (table,)).fetchall()
            kinds = {"TEXT": str, "INTEGER": int, "REAL": float}
            told = columns[1:] if FORMS[table].numbered else columns
            assert len(FORMS[table].columns) == len(told)
            for (_, kind), form in zip(told, FORMS[table].columns, strict=True):
                assert kinds[kind] in (form if isinstance(form, tuple) else {str})


# The command


@pytest.fixture
def own(tmp_path: Path, sound: bytes, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The player's own log, without the page on which all runs lie and the last byte, which whoever reads it misses."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    path = tmp_path / "data" / "practice.sqlite3"
    path.parent.mkdir()
    path.write_bytes(sound)
    with closing(sqlite3.connect(path)) as log:
        (root,) = log.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'runs'").fetchone()
    path.write_bytes(without(sound, root)[:-1])
    return path


def test_the_line_about_a_damaged_log_names_the_command_which_says_what_it_saved(
    own: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TZ", "UTC")
    with Terminal(own.parents[1], (100, 30)) as terminal:
        terminal.run()
        terminal.until(lambda rows: "'changeover mend FILE' saves" in " ".join(map(str.strip, rows)), "what to do")
        terminal.key("q")
        assert terminal.ended() == 0
    assert main(["progress"]) == 2
    assert "'changeover mend FILE' saves what can still be read" in capsys.readouterr().err
    assert main(["mend"]) == 1
    told, error = capsys.readouterr()
    (aside,) = own.parent.glob("*.damaged-*.sqlite3")
    assert error == ""
    assert told.splitlines() == [
        "Saved: 660 changes in 12 runs, from 2023-11-14 to 2023-11-28.",
        "Could not be read: 0 changes.",
        "Lost of 12 runs: the drill's name.",
        "Of 240 changes that were heard a finger or an odd note may be missing: nothing counts those.",
        f"The new log: {own}",
        f"The damaged one: {aside}",
    ]
    assert main(["progress"]) == 0
    assert "shape" in capsys.readouterr().out
    assert main(["mend"]) == 0
    assert capsys.readouterr().out == f"{own}: nothing to mend.\n"


def test_the_same_as_json_into_another_file(own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    damaged = own.read_bytes()
    new = tmp_path / "new" / "log.sqlite3"
    assert main(["mend", "--json", "-o", str(new)]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["changes"].items() >= {"saved": 660, "unread": 0, "all_counted": True, "clean_lost": 0}.items()
    assert (document["log"], document["damaged"]) == (str(new), str(own))
    assert own.read_bytes() == damaged
    assert list(own.parent.iterdir()) == [own]
    assert main(["mend", "-o", str(new)]) == 2
    assert f"{new}: is there already" in capsys.readouterr().err
    assert main(["merge", str(new)]) == 2  # into the damaged one nothing is merged
    capsys.readouterr()
    assert main(["mend", "--json", str(new)]) == 0
    assert json.loads(capsys.readouterr().out)["damaged"] is None


def test_what_cannot_be_written_is_said_of_the_new_file_of_which_nothing_stays(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    new = tmp_path / "new.sqlite3"
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        assert main(["mend", "-o", str(new)]) == 2
    nothing = "(nothing was changed)"
    assert capsys.readouterr().err == f"changeover: {new}: cannot be written: no space left on device {nothing}\n"
    assert not new.exists()
    assert main(["mend", "-o", str(own / "new.sqlite3")]) == 2
    assert capsys.readouterr().err == f"changeover: {own / 'new.sqlite3'}: cannot be written: file exists {nothing}\n"
    for name, told in (("nul\0byte", "there is no such file"), ("a" * 300, "cannot be opened (File name too long)")):
        assert main(["mend", name]) == 2
        assert told in capsys.readouterr().err
