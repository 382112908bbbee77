"""What the time model of a hand costs over a million attempts, and what it knows after thirty days by the plan.

Run `python tests/bench/bench_timemodel.py [SEEDS]`. The first part is measured in one run on one machine; the yardstick
is to open the same file and read its schema. The second is a simulation: a player whose costs are known practises by
the plan, a set number of tries a day, and the model is asked what each thing costs. The player is of the kind that the
model supposes (costs add up in the logarithm of time, learning is a power of the tries), so it shows that the costs are
found and how closely, not that real hands are so.
"""

from __future__ import annotations

import math
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from itertools import islice
from pathlib import Path

from tests.practice.timemodel.player import CHANGES, COSTS, KIND, Player
from trainer.hand.reach import Hand
from trainer.log.due import due_day
from trainer.log.hands import time_model
from trainer.log.history import reading
from trainer.log.migrations import MIGRATIONS, migrate
from trainer.practice.plan import VISIT, look, plan
from trainer.practice.record import Attempt
from trainer.practice.reviews import reviews
from trainer.practice.timemodel.blocks import EARLY, NEWEST, past
from trainer.practice.timemodel.features import features
from trainer.practice.timemodel.model import Known, TimeModel, learn

ATTEMPTS = 1_000_000
SOURCES = ("keys", "pedal")
ROUNDS = 9
DAYS, TRIES, MINUTES, POOL, TARGET = 30, 120, 12.0, 40, 400.0
FIRST_DAY = 738_000


def fill(path: Path) -> int:
    """Write a million attempts at every change there is from two sources; return how many series they are."""
    player = Player(random.Random(1))
    series = [(source, key, vector) for source in SOURCES for key, vector in CHANGES]
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrate(connection, MIGRATIONS[:1])
        connection.execute("BEGIN")
        connection.execute("INSERT INTO runs (id, drill, at, timing) VALUES ('run', 'Drill', 0, 'leave')")
        connection.executemany(
            "INSERT INTO series (change, timing, source, texture) VALUES (?, 'leave', ?, 'block')",
            ((key, source) for source, key, _ in series),
        )
        rows = (
            (
                str(n),
                n // 6 % len(series) + 1,
                n * 63.0,
                player.time(*series[n // 6 % len(series)][1:], n // len(series) + 1),
            )
            for n in range(ATTEMPTS)
        )
        connection.executemany("INSERT INTO attempts (id, run, series, at, change_ms) VALUES (?, 1, ?, ?, ?)", rows)
        connection.execute("COMMIT")
        migrate(connection)
    return len(series)


def timed(work: Callable[[], object]) -> float:
    """Return the median of several rounds in milliseconds."""
    taken = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken)


def line(what: str, ms: float, yardstick: float) -> None:
    print(f"{what:<64}{ms:8.1f} ms{ms / yardstick:9.1f} x")


def million() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "million.sqlite3"
        count = fill(path)

        def opened() -> None:
            with closing(sqlite3.connect(path)) as connection:
                connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()

        def asked() -> TimeModel:
            with reading(path) as history:
                return time_model(history, Hand())

        def from_cold() -> TimeModel:
            features.cache_clear()
            return asked()

        def summed_up() -> None:
            with reading(path) as history:
                history.summaries()

        model, inside = asked(), timed(opened)
        line("yardstick: open the file and read its schema", inside, inside)
        line(f"the query: {count:,} summaries of {ATTEMPTS:,} attempts", timed(summed_up), inside)
        line(f"the query, both ends of {model.count} series, and the model", timed(asked), inside)
        line("the same in a fresh process, every change analysed anew", timed(from_cold), inside)
        line(
            f"the model alone, from the blocks of {model.count} changes",
            timed(lambda: learn(KIND, model.known)),
            inside,
        )
        line("one prediction with its interval", timed(lambda: model.predict(model.known[0].features)), inside)
        line("calibration: 100 changes left out, one after the other", timed(model.calibration), inside)


class Practising:
    """One player with a pool of changes and what was played of them."""

    def __init__(self, seed: int) -> None:
        self.player = Player(random.Random(seed))
        self.pool = dict(self.player.chance.sample(CHANGES, POOL))
        self.played: dict[str, list[Attempt]] = {key: [] for key in self.pool}
        self.days: dict[str, list[int]] = {key: [] for key in self.pool}

    def visit(self, key: str, day: int) -> None:
        for _ in range(VISIT):
            ms = self.player.time(key, self.pool[key], len(self.played[key]) + 1)
            self.played[key].append(Attempt("a", "r", key, float(day), KIND.timing, KIND.source, ms))
            self.days[key].append(day)

    def practise(self, day: int) -> None:
        """Play what is new, then by the plan, as far as the tries of a day reach."""
        new = [key for key, played in self.played.items() if not played][: TRIES // VISIT]
        for key in new:
            self.visit(key, day)
        looks = [
            look(played[-200:], self.days[key][-1], due_day(reviews(played, self.days[key], TARGET)), TARGET)
            for key, played in self.played.items()
            if played and key not in new
        ]
        made = plan(looks, day, MINUTES - len(new) * VISIT * 6 / 60)
        for item in islice(made.turns, TRIES // VISIT - len(new)):
            self.visit(item.look.series.change, day)

    def model(self) -> TimeModel:
        known = []
        for key, played in self.played.items():
            times = [attempt.change_ms or 0.0 for attempt in played]
            found = past(played[0].series, times[:EARLY], times[-NEWEST:], len(times)) if times else None
            if found is not None:
                known.append(Known(key, self.pool[key], found.blocks))
        return learn(KIND, known)


def thirty_days(seeds: int) -> None:
    models, tries, unseen = [], [], []
    for seed in range(seeds):
        one = Practising(900 + seed)
        for day in range(FIRST_DAY, FIRST_DAY + DAYS):
            one.practise(day)
        model = one.model()
        models.append(model)
        tries.append(sum(map(len, one.played.values())))
        for key, vector in CHANGES:
            if key not in one.pool:
                found = model.predict(vector)
                true = math.exp(one.player.usual(key, vector, 30))
                unseen.append((found.low <= true <= found.high, found.middle / true - 1))
    print(
        f"\n{DAYS} days by the plan, {POOL} changes, {statistics.mean(tries):,.0f} tries, {seeds} players"
        f"\n{'':12}{'true, log':>12}{'found, mean':>14}{'spread':>10}{'80 % held':>12}"
    )
    for name, true in COSTS.items():
        middles = [model.coefficient(name) for model in models]
        costs = [(model.cost({name: 1}).ms, model.usual_ms * math.expm1(true)) for model in models]
        held = sum(ms.low <= value <= ms.high for ms, value in costs)
        spread = statistics.pstdev(middles)
        print(f"{name:<12}{true:>12.2f}{statistics.mean(middles):>14.3f}{spread:>10.3f}{held:>8} / {seeds}")
    calibrations = [model.calibration() for model in models]
    held, out = sum(each.held for each in calibrations), sum(each.changes for each in calibrations)
    print(f"80 % intervals held {held / out:.0%} of {out} changes left out")
    inside = statistics.mean(hit for hit, _ in unseen)
    error = statistics.median(abs(off) for _, off in unseen)
    print(f"of {len(unseen):,} changes never played: 80 % intervals held {inside:.0%}, median error {error:.0%}")


def main() -> None:
    million()
    thirty_days(int(sys.argv[1]) if len(sys.argv) > 1 else 12)


if __name__ == "__main__":
    main()
