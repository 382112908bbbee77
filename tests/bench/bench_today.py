"""What `changeover today` and `progress` cost over a million attempts, beyond what any command costs.

The runs bear the titles of the drills that ship, most of whose changes were never timed: so `today` pays for the model
of the hand, too, which tells how long those will take.

Run `python tests/bench/bench_today.py`. The yardsticks are from the same run: a Python that starts, opens the same file
and asks it for 1, and `changeover where`, which starts like any command and asks nothing.
"""

from __future__ import annotations

import os
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

from tests.practice.timemodel.player import CHANGES
from trainer.files.library import library
from trainer.hand.reach import Hand
from trainer.log.history import reading
from trainer.log.looks import looks
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.practice.curve_fit import fit
from trainer.practice.plan import Plan, plan, target_ms
from trainer.practice.timemodel.features import features
from trainer.ui.planned import plan_for

ATTEMPTS = 1_000_000
SOURCES = ("keys", "pedal")
SERIES = [(key, source) for source in SOURCES for key, _ in CHANGES]
"""Every change between shapes of the stock and a few up the neck, from two sources."""
RUN = 60
"""Attempts in a run."""
APART_S = 63.0
"""So that twenty-six weeks hold 250,000 attempts, seven times what 200 a day make."""
ROUNDS = 9
COMMANDS = (
    *(["where"], ["today"], ["today", "--json"], ["progress"]),
    *(["progress", "--by", "week"], ["progress", "--by", "week", "--limit", "4"], ["progress", "--by", "drill"]),
)
COMMAND = (
    "import sys; from pathlib import Path; from trainer.files import paths\n"
    "paths.log_file = lambda: Path(sys.argv[1])\n"
    "from trainer.cli import main; sys.exit(main({words}))"
)


def fill(path: Path) -> None:
    """Write a million attempts of the last two years; the summaries by the step of the schema that brings them."""
    chance, now = random.Random(1), time.time()
    titles = [entry.head.title for entry in library().entries if entry.ships]
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrate(connection, MIGRATIONS[:1])
        connection.execute("BEGIN")
        begins = now - ATTEMPTS * APART_S
        connection.executemany(
            "INSERT INTO runs (id, drill, at, timing) VALUES (?, ?, ?, 'leave')",
            (
                (f"run {n}", titles[n % len(titles)], begins + (n * RUN - 0.5) * APART_S)
                for n in range(-(-ATTEMPTS // RUN))
            ),
        )
        connection.executemany(
            "INSERT INTO series (change, timing, source, texture) VALUES (?, 'leave', ?, 'block')", SERIES
        )
        connection.executemany(
            "INSERT INTO attempts (id, run, series, at, change_ms, clean) VALUES (?, ?, ?, ?, ?, ?)",
            (
                (
                    str(n),
                    n // RUN + 1,
                    n // 6 % len(SERIES) + 1,
                    begins + n * APART_S,
                    450 + 500 * 0.5 ** (n / ATTEMPTS * 4) + chance.gauss(0, 90),
                    chance.choice((None, 0, 1)),
                )
                for n in range(ATTEMPTS)
            ),
        )
        connection.execute("COMMIT")
        migrate(connection)


def timed(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the median of several rounds in milliseconds."""
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken)


def started(code: str, path: Path) -> float:
    command = [sys.executable, "-c", code, str(path)]
    return timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL))


def line(what: str, ms: float, yardstick: float) -> None:
    print(f"{what:<56}{ms:8.1f} ms{ms / yardstick:8.1f} x")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        # Installed modules are compiled already; here the first round of each program does it, away from the tree.
        os.environ["PYTHONPYCACHEPREFIX"] = f"{folder}/compiled"
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        path = Path(folder) / "million.sqlite3"
        fill(path)

        def opened() -> None:
            with closing(sqlite3.connect(path)) as connection:
                connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()

        def looked() -> Plan:
            today = date.today()
            with reading(path) as history:
                return plan(looks(history, today, target_ms(60)), today.toordinal(), 10)

        def planned() -> Plan:
            features.cache_clear()
            with reading(path) as history:
                return plan_for(history, Hand(), date.today(), 60, 10)

        def summed_up() -> None:
            with reading(path) as history:
                history.summaries()

        times = [500 + 400 * 0.97**number + (number * 7919 % 13 - 6) * 20 for number in range(80)]
        inside = timed(opened)
        line("yardstick: open the file and read its schema", inside, inside)
        line("one learning curve of 80 times", timed(lambda: fit(times)), inside)
        line(f"{len(SERIES):,} summaries", timed(summed_up), inside)
        line("the same, 24 changes looked at closely, and the plan", timed(looked), inside)
        new = sum(item.look.predicted is not None for item in (*planned().items, *planned().left_out))
        line(f"the same, the model of the hand, {new} changes never timed", timed(planned), inside)
        bare = started("import sys, sqlite3; sqlite3.connect(sys.argv[1]).execute('SELECT 1').fetchone()", path)
        line("yardstick: python starts, opens the file, select 1", bare, bare)
        for words in COMMANDS:
            line(f"`changeover {' '.join(words)}`", started(COMMAND.format(words=words), path), bare)


if __name__ == "__main__":
    main()
