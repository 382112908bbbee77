"""How long it takes to list, read and search ten thousand drill files.

Run: python tests/bench/bench_library.py [COUNT]. Prints each time and its ratio to listing, from one run.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable

from trainer.errors import ChangeoverError
from trainer.files import paths
from trainer.files.library import find, library


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ[paths.HOME] = folder
        own = paths.drills_dir()
        own.mkdir(parents=True)
        models = sorted(paths.shipped("drills").glob("*.toml"))
        for number in range(count):
            shutil.copyfile(models[number % len(models)], own / f"drill-{number:05}.toml")
        print(f"{count} files, copies of the {len(models)} that ship")
        listing = timed(lambda: library())
        entries = library().entries
        report("list names", listing, listing)
        report(
            "first screen: list, 40 titles", timed(lambda: [entry.head for entry in library().entries[:40]]), listing
        )
        report("every title", timed(lambda: [entry.head for entry in library().entries]), listing)
        some = entries[: min(500, count)]
        report(f"load {len(some)} whole", timed(lambda: [entry.load() for entry in some]), listing)
        report("find by name", timed(lambda: find(f"drill-{count - 1:05}")), listing)
        report("unknown name, with a hint", timed(unknown), listing)


def unknown() -> None:
    try:
        find("drill-number-nine")
    except ChangeoverError:
        return
    raise AssertionError("such a drill was found")


def timed(run: Callable[[], object]) -> float:
    """Return the best of three in seconds."""
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return best


def report(what: str, seconds: float, unit: float) -> None:
    print(f"{what:32} {seconds * 1000:9.2f} ms  {seconds / unit:7.2f} x listing")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
