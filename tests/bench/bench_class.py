"""What a class costs its teacher: keeping a round of thirty seats, and telling the results of forty.

Run `python tests/bench/bench_class.py`. A round is kept on the screen's own thread, between the key and the answer, so
it is set against a frame of 1/60 s and against one commit of one seat alone, from the same run.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

from trainer.commands.class_.gathering import gathered
from trainer.commands.classes import group
from trainer.files import classes, paths
from trainer.files.library import find
from trainer.log.seats import record_round
from trainer.practice.marked import marked
from trainer.practice.roster import Class
from trainer.practice.rounds import Mark, Result, Round

SEATS, MOST = 30, 40
ROUNDS = 40
FRAME_MS = 1000 / 60


def took_ms(work: Callable[[], object]) -> float:
    """Return how long `work` takes, in milliseconds."""
    before = time.perf_counter()
    work()
    return (time.perf_counter() - before) * 1000


def begin(name: str, seats: int) -> Class:
    """Begin a class of so many seats."""
    roster = Class(name)
    for number in range(seats):
        roster = roster.add(f"{name}{number}")
    classes.create(roster)
    return roster


def main() -> None:
    """Print the ratios."""
    drill = find("group-four-chords")
    with tempfile.TemporaryDirectory() as home:
        os.environ[paths.HOME] = home
        roster = begin("thirty", SEATS)
        lesson = group("thirty")
        done = Round(60.0, drill.pairs[:1], tuple(Result(seat.id, Mark.HAD) for seat in roster.seats))
        rounds = [took_ms(lambda: lesson.keep(drill, done, time.monotonic())) for _ in range(ROUNDS)]
        entries = [marked(drill, done, done.results[0], 0.0, None, lambda: str(uuid.uuid4())) for _ in range(ROUNDS)]
        alone = Path(home) / "alone.sqlite3"
        one = statistics.median(took_ms(partial(record_round, alone, entry)) for entry in entries if entry)
        usual, worst = statistics.median(rounds[1:]), max(rounds[1:])
        print(f"one round into one log: {one:.1f} ms")
        print(f"into {SEATS} logs: first {rounds[0]:.0f} ms, usually {usual:.0f} ms, at worst {worst:.0f} ms")
        print(f"  {usual / one:.1f} times one log, {usual / FRAME_MS:.1f} frames")
        full = begin("forty", MOST)
        done = Round(60.0, drill.pairs, tuple(Result(seat.id, Mark.HAD) for seat in full.seats))
        lesson = group("forty")
        for _ in range(ROUNDS):
            lesson.keep(drill, done, time.monotonic())
        told = statistics.median(took_ms(lambda: gathered(full, date.today())) for _ in range(5))
        print(f"results of {MOST} seats after {ROUNDS} rounds: {told:.0f} ms, {told / MOST:.1f} ms a seat")


if __name__ == "__main__":
    main()
