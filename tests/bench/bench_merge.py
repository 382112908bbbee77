"""What merging costs: 100,000 changes into a log of a million, timed by keys and heard; the second time; a seat's week.

Run `python tests/bench/bench_merge.py`. What counts is how long others wait who write to the same log: from the begin
of the transaction to its end. The yardsticks are opening the log for writing, which looks through all of it, and the
plainest way to bring as many rows into an SQLite file: a bare insert of the same ids and times.
"""

from __future__ import annotations

import random
import resource
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path
from unittest.mock import patch

from tests.bench import bench_log
from trainer.log import connect, union
from trainer.log.merge import merge
from trainer.log.migrations import transaction

INTO, BROUGHT, WEEK = 1_000_000, 100_000, 1_000


def filled(path: Path, changes: int, *, heard: bool, seed: int) -> Path:
    """Write a log of so many changes; another seed gives every one of them another id."""

    class Seeded(random.Random):
        def __init__(self, _: object) -> None:
            super().__init__(seed)

    with patch.object(bench_log, "CHANGES", changes), patch.object(random, "Random", Seeded):
        bench_log.fill(path, heard=heard)
    return path


def line(what: str, seconds: float, yardstick: float) -> None:
    print(f"{what:<58}{seconds:9.2f} s{seconds / yardstick:9.1f} x")


def bare_inserts(folder: Path) -> float:
    """Return the seconds it takes to insert as many bare rows into a table of a million, found by their ids."""
    chance = random.Random(3)
    insert = "INSERT INTO attempts VALUES (?, ?, ?)"
    with closing(sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("CREATE TABLE attempts (id TEXT UNIQUE, at REAL, change_ms REAL)")
        with transaction(connection):
            connection.executemany(insert, ((bench_log.name(chance), n, 700.0) for n in range(INTO)))
        start = time.perf_counter()
        with transaction(connection):
            connection.executemany(insert, ((bench_log.name(chance), n, 700.0) for n in range(BROUGHT)))
        return time.perf_counter() - start


def merged(what: str, source: Path, into: Path, yardstick: float) -> None:
    """Merge, and say how long it took and for how long of that the log was locked for others who write."""
    locked: list[float] = []
    compare, join = union.compare, union.join

    def comparing(ours: sqlite3.Connection) -> union.Brought:
        locked.append(time.perf_counter())
        return compare(ours)

    def joining(ours: sqlite3.Connection) -> None:
        join(ours)
        locked.append(time.perf_counter())

    start = time.perf_counter()
    with patch.object(union, "compare", comparing), patch.object(union, "join", joining):
        brought = merge(source, into)
    line(f"{what}: {brought.new:,} new, {brought.known:,} known", time.perf_counter() - start, yardstick)
    line("    of that, others who write wait", locked[1] - locked[0], yardstick)


def main() -> None:
    print(f"SQLite {sqlite3.sqlite_version}, Python {sys.version.split()[0]}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        yardstick = bare_inserts(folder)
        line(f"yardstick: {BROUGHT:,} bare rows into {INTO:,}", yardstick, yardstick)
        for heard in (False, True):
            into = filled(folder / "into.sqlite3", INTO, heard=heard, seed=1)
            source = filled(folder / "source.sqlite3", BROUGHT, heard=heard, seed=2)
            week = filled(folder / "week.sqlite3", WEEK, heard=heard, seed=4)
            sizes = ", ".join(f"{path.stat().st_size / 1e6:.1f} MB" for path in (source, into))
            print(f"\n{BROUGHT:,} into {INTO:,} changes, {'heard' if heard else 'timed by keys'}: {sizes}")
            start = time.perf_counter()
            connect.for_writing(into).close()
            line("open for writing, whole file checked", time.perf_counter() - start, yardstick)
            merged("first", source, into, yardstick)
            merged("again", source, into, yardstick)
            merged("a seat's week", week, into, yardstick)
            for path in folder.glob("*.sqlite3*"):
                path.unlink()
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nmost memory, the filling of the logs included: {most:.0f} MB")


if __name__ == "__main__":
    main()
