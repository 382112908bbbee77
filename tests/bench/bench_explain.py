"""What `changeover explain` costs beside the Python that runs it: `python tests/bench/bench_explain.py`."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

ROUNDS = 21
COMMANDS = {
    "python -c pass": ["-c", "pass"],
    "the same and its standard imports": [
        "-c",
        "import argparse, json, dataclasses, fractions, tomllib, pathlib, difflib",
    ],
    "changeover explain first-change": ["-m", "trainer.cli", "explain", "first-change"],
    "changeover explain six-eight --json": ["-m", "trainer.cli", "explain", "six-eight", "--json"],
    "changeover explain C F": ["-m", "trainer.cli", "explain", "C", "F"],
}


def took_ms(words: list[str]) -> float:
    """Return how long one run of Python with these words takes."""
    began = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, capture_output=True)
    return 1000 * (time.perf_counter() - began)


def main() -> None:
    """Print the median of each command, the rounds interleaved, and its ratio to the yardstick."""
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    for _ in range(ROUNDS):
        for name, words in COMMANDS.items():
            times[name].append(took_ms(words))
    yardstick = statistics.median(times["the same and its standard imports"])
    for name, taken in times.items():
        median = statistics.median(taken)
        print(f"{name:<40} {median:7.1f} ms   {median / yardstick:5.2f} x")


if __name__ == "__main__":
    main()
