"""What the practice log costs: one commit, and progress over a million changes, timed by keys and heard.

Run `python tests/bench/bench_log.py`. Everything is measured in one run on one machine, so the ratios to the yardsticks
mean more than the milliseconds: a commit beside the same insert without a log around it, and progress beside opening
the same file with sqlite3 and asking it for 1.
"""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from trainer.log.heard import write
from trainer.log.history import reading
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Attempt, Run, Series, Timing
from trainer.practice.statistics import quantile, trend

CHANGES = 1_000_000
SERIES = 2_000
IN_A_RUN = 50
COMMITS = 3_000
UNHURRIED = 500
SHOWN = 20
ROUNDS = 15

Seconds = list[float]


def timed(work: Callable[..., object], *arguments: object) -> float:
    start = time.perf_counter()
    work(*arguments)
    return time.perf_counter() - start


def part(times: Seconds, share: float) -> float:
    """Return a quantile in milliseconds."""
    return sorted(times)[min(int(len(times) * share), len(times) - 1)] * 1000


def line(what: str, times: Seconds, yardstick: Seconds | None = None) -> None:
    ratio = f"{part(times, 0.5) / part(yardstick, 0.5):8.1f} x" if yardstick else " " * 10
    print(f"{what:<58}{part(times, 0.5):9.3f}{part(times, 0.99):9.3f}{max(times) * 1000:9.3f}{ratio}")


def key(n: int) -> str:
    return f"E2 A2 D3 G3 B3 E4 | {n % 7} | x {n % 9}/3 2/2 0 1/1 0 | x x {n // 9}/2 2/1 3/4 {n % 4}"


def an_attempt(n: int) -> Attempt:
    return Attempt(str(uuid.uuid4()), "run", key(n % 8), float(n), Timing.LEAVE, "keys", 700.0 + n % 97)


def measures(n: int) -> Measures:
    """Return the measures of a change that was heard: three fingers to keep or slide, now and then an odd note."""
    odd = ((3, 55),) if n % 8 == 0 else ()
    return Measures(
        device="Six Strings MIDI 1",
        calibration="two periods of each string",
        change_ms=700.0 + n % 97,
        strike_ms=1500.0,
        gap_ms=float(n % 61),
        spread_ms=float(n % 23),
        direction=Direction.BLOCK,
        kept_down={1: Answer.YES, 3: Answer.NO if n % 5 else Answer.YES},
        guides={2: Answer.NOT_HEARD},
        wrong=(54,) if n % 9 == 0 else (),
        missing=odd,
    )


def a_heard_attempt(n: int) -> Attempt:
    heard = measures(n)
    return Attempt(str(uuid.uuid4()), "run", key(n % 8), float(n), Timing.HEARD, "six", heard.change_ms, measures=heard)


def bare(path: Path, mode: str) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute(f"PRAGMA synchronous = {mode}")
    connection.execute("PRAGMA wal_autocheckpoint = 0")
    connection.execute("CREATE TABLE IF NOT EXISTS attempts (id TEXT, key TEXT, at REAL, change_ms REAL)")
    return connection


def bare_inserts(folder: Path, mode: str) -> Seconds:
    with closing(bare(folder / f"{mode}.sqlite3", mode)) as connection:
        rows = [(str(uuid.uuid4()), key(n % 8), float(n), 700.0) for n in range(COMMITS)]
        return [timed(connection.execute, "INSERT INTO attempts VALUES (?, ?, ?, ?)", row) for row in rows]


def commits(folder: Path) -> None:
    """Measure single commits, each waited for, as they come in practice."""
    normal = bare_inserts(folder, "NORMAL")
    line("yardstick: one bare insert, synchronous NORMAL", normal)
    line("the same with synchronous FULL", bare_inserts(folder, "FULL"), normal)
    with Log.open(folder / "practice.sqlite3") as log:
        log.begin(Run("run", "Two shapes", 0.0, Timing.LEAVE)).result()
        entries = [an_attempt(n) for n in range(COMMITS)]
        apart = []
        for entry in entries[:UNHURRIED]:
            time.sleep(0.02)  # by then the writer has long moved its commits into the main file
            apart.append(timed(lambda entry: log.add(entry).result(), entry))
        line("landed change, 20 ms after the one before", apart, normal)
        print(f"{'':4}{sum(seconds > 0.010 for seconds in apart)} of {UNHURRIED} took longer than 10 ms")
        handed = [timed(lambda entry: log.add(entry).result(), entry) for entry in entries[UNHURRIED:]]
        line("landed change, at once after the one before", handed, normal)
        marked = [timed(lambda entry: log.mark(entry.id, clean=True).result(), entry) for entry in entries]
        line("mark clean, at once after the one before", marked, normal)
        heard = [a_heard_attempt(COMMITS + n) for n in range(COMMITS)]
        line(
            "heard change with its measures, at once", [timed(lambda e: log.add(e).result(), e) for e in heard], normal
        )
        verdicts = [
            timed(lambda n: log.measure(heard[n].id, measures(n + 1), True).result(), n) for n in range(COMMITS)
        ]
        line("verdict on a heard change, measures replaced", verdicts, normal)
        start = time.perf_counter()
    print(f"{'':4}close() took {(time.perf_counter() - start) * 1000:.1f} ms")
    with Log.open(folder / "one.sqlite3") as log:
        log.begin(Run("run", "Two shapes", 0.0, Timing.LEAVE)).result()
        start = time.perf_counter()
        for n in range(COMMITS):
            receipt = log.add(an_attempt(n))
        receipt.result()
        rate = COMMITS / (time.perf_counter() - start)
    print(f"{'':4}handed over without waiting: {rate:,.0f} commits a second")


def fill(path: Path, *, heard: bool) -> None:
    """Write a log of a million changes, the summaries by the step of the schema that brings them.

    With `heard`, each has its measures, whose part of the summaries is written as the log would have kept it.
    """
    chance = random.Random(1)
    timing = "heard" if heard else "leave"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        migrate(connection, MIGRATIONS[:1])
        connection.execute("BEGIN")
        connection.executemany(
            "INSERT INTO runs (id, drill, at, timing) VALUES (?, ?, ?, ?)",
            ((name(chance), f"Drill {n % 200}", n * 3000.0, timing) for n in range(CHANGES // IN_A_RUN)),
        )
        connection.executemany(
            "INSERT INTO series (change, timing, source, texture) VALUES (?, ?, 'keys', 'block')",
            ((key(n), timing) for n in range(SERIES)),
        )
        connection.executemany(
            "INSERT INTO attempts (id, run, series, at, change_ms, clean) VALUES (?, ?, ?, ?, ?, ?)",
            (
                (
                    name(chance),
                    n // IN_A_RUN + 1,
                    (n // IN_A_RUN * 7 + n % 5) % SERIES + 1,
                    n * 60.0,
                    chance.gauss(900.0, 200.0),
                    chance.choice((None, 0, 1)),
                )
                for n in range(CHANGES)
            ),
        )
        connection.execute("COMMIT")
        migrate(connection)
        if heard:
            hear(connection)


def hear(connection: sqlite3.Connection) -> None:
    """Give every change of the log its measures, by the functions that the log itself uses."""
    connection.execute("BEGIN")
    for n in range(CHANGES):
        write(connection, n + 1, measures(n))
    connection.execute(
        "UPDATE series SET measured = attempts, (kept, kept_answered) = ("
        " SELECT count(*) FILTER (WHERE f.answer = 'yes'), count(*) FROM attempts AS a"
        " JOIN fingers AS f ON f.attempt = a.n AND f.asked = 'kept' WHERE a.series = series.n), (gap_ms, spread_ms) = ("
        " SELECT avg(m.gap_ms), avg(m.spread_ms) FROM attempts AS a JOIN measures AS m ON m.attempt = a.n"
        " WHERE a.series = series.n)"
    )
    connection.execute("COMMIT")


def name(chance: random.Random) -> str:
    return str(uuid.UUID(int=chance.getrandbits(128)))


def progress(path: Path, timing: Timing) -> None:
    """Measure what stands between a million changes and the player."""
    series = Series(key(7), timing, "keys")

    def yardstick() -> None:
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("SELECT 1").fetchone()
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()

    def summaries() -> None:
        with reading(path) as history:
            assert len(history.summaries()) == SERIES

    def table() -> None:
        with reading(path) as history:
            for summary in history.summaries(slowest=SHOWN):
                trend(history.times(summary.series))

    def one_change() -> None:
        with reading(path) as history:
            assert len(history.of_change(key(7))) == 200

    def one_series() -> None:
        with reading(path) as history:
            found = history.attempts(series)
            assert len(found) == 200
            assert (found[0].measures is not None) == (timing is Timing.HEARD)

    def last_runs() -> None:
        with reading(path) as history:
            assert len(history.of_run(history.runs()[0].id)) == IN_A_RUN

    def without_summaries() -> None:
        newest = "SELECT change_ms FROM attempts WHERE series = ? ORDER BY at DESC, n DESC LIMIT 200"
        with closing(sqlite3.connect(path)) as connection:
            counted = connection.execute("SELECT series, count(*), min(change_ms) FROM attempts GROUP BY series")
            for series, _, _ in counted.fetchall():
                quantile(sorted(ms for (ms,) in connection.execute(newest, (series,))), 0.5)

    opened = [timed(yardstick) for _ in range(ROUNDS)]
    line("yardstick: open the file, select 1, read the schema", opened)
    line(f"all {SERIES:,} summaries", [timed(summaries) for _ in range(ROUNDS)], opened)
    line(f"progress: summaries, {SHOWN} rows with their last 200", [timed(table) for _ in range(ROUNDS)], opened)
    line("one change: its newest 200 attempts", [timed(one_change) for _ in range(ROUNDS)], opened)
    line("one series, as the progress screen reads it", [timed(one_series) for _ in range(ROUNDS)], opened)
    line("last runs and the attempts of one", [timed(last_runs) for _ in range(ROUNDS)], opened)
    line("were there no summaries: count, best, recent median", [timed(without_summaries) for _ in range(3)], opened)


def programs(path: Path) -> None:
    """Measure the same from outside: a Python that starts, prints and ends."""

    def start(text: str) -> Seconds:
        command = [sys.executable, "-c", text, str(path)]
        return [timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL)) for _ in range(ROUNDS)]

    bare_start = start("import sys, sqlite3; sqlite3.connect(sys.argv[1]).execute('SELECT 1').fetchone()")
    command = (
        "import sys; from pathlib import Path; from trainer.files import paths\n"
        "paths.log_file = lambda: Path(sys.argv[1])\n"
        "from trainer.cli import main; sys.exit(main({arguments}))"
    )
    line("yardstick: python starts, opens the file, select 1", bare_start)
    line("`changeover progress`", start(command.format(arguments=["progress"])), bare_start)
    json = ["progress", "--json", "--slowest", str(SHOWN)]
    line(f"`changeover progress --json --slowest {SHOWN}`", start(command.format(arguments=json)), bare_start)


def opening(path: Path) -> None:
    """Measure how long the writer looks through the whole file before it writes to it, in the background."""

    def until_ready() -> None:
        with Log.open(path) as log:
            assert log.ready.result() is None

    line("open for writing, whole file checked, and close", [timed(until_ready) for _ in range(5)])


def main() -> None:
    print(f"SQLite {sqlite3.sqlite_version}, Python {sys.version.split()[0]}")
    print(f"{'':58}{'median':>9}{'p99':>9}{'max':>9}   ms")
    with tempfile.TemporaryDirectory() as folder:
        # Installed modules are compiled already; here the first round of each program does it, away from the tree.
        os.environ["PYTHONPYCACHEPREFIX"] = f"{folder}/compiled"
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        commits(Path(folder))
        for timing in (Timing.LEAVE, Timing.HEARD):
            path = Path(folder) / f"{timing}.sqlite3"
            fill(path, heard=timing is Timing.HEARD)
            print(f"\n{CHANGES:,} changes, timed as '{timing}', in {path.stat().st_size / 1e6:.0f} MB")
            progress(path, timing)
            opening(path)
            if len(sys.argv) < 2:
                programs(path)
            path.unlink()


if __name__ == "__main__":
    main()
