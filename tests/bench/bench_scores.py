"""How long it takes to read a score, beside music21 on the same file, and to make a drill of two pages.

Run: python tests/bench/bench_scores.py. Prints each time and ratios from one run, and the memory that reading takes.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
import tracemalloc
import warnings
from collections.abc import Callable
from pathlib import Path

from trainer.practice.quick import from_shapes
from trainer.scores.drilling import drill_of
from trainer.scores.excerpt import excerpt
from trainer.scores.musicxml.writer import write
from trainer.scores.parts import chosen_part
from trainer.scores.source import parse

ROOT = Path(__file__).parents[2]
CHORDS = ("C", "Am", "Dm", "G7", "Em", "F", "A7", "D")


def main() -> None:
    pages, large = made(32), made(430)
    for name, data in (("two pages", pages), ("a large score", large)):
        score = parse(data, "x")
        print(f"{name}: {score.understood['notes']} notes, {len(data) / 1e6:.1f} MB")
        ours = timed(lambda data=data: parse(data, "x"), 3)  # type: ignore[misc]  # bound now
        theirs = timed(lambda data=data: reference(data), 1)  # type: ignore[misc]  # bound now
        print(f"  read                {ours * 1e3:8.0f} ms")
        print(f"  music21             {theirs * 1e3:8.0f} ms  x{theirs / ours:.1f}")
    tracemalloc.start()
    parse(large, "x")
    print(f"  most memory at once {tracemalloc.get_traced_memory()[1] / 1e6:8.1f} MB")
    tracemalloc.stop()
    score = parse(pages, "x")
    part, _ = chosen_part(score, None, "x")
    whole = excerpt(score, part, "x")
    print(f"two pages to a drill  {timed(lambda: drill_of(score, whole, 'x'), 3) * 1e3:8.0f} ms, diagrams printed")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pages.musicxml"
        path.write_bytes(pages)
        bare = started("-c", "pass")
        whole_time = started("-m", "trainer.cli", "import", str(path))
        help_time = started("-m", "trainer.cli", "import", "--help")
        print(f"import, whole program {(whole_time - bare) * 1e3:8.0f} ms above Python itself")
        print(f"  of that, start-up   {(help_time - bare) * 1e3:8.0f} ms")


def made(bars: int) -> bytes:
    """Return a score of so many bars of arpeggios."""
    from dataclasses import replace
    from fractions import Fraction

    from trainer.fretboard.plucked import Stroke

    drill = from_shapes([CHORDS[index % len(CHORDS)] for index in range(bars)])
    steps = []
    for step in drill.steps:
        strings = [step.shape.sounding[index % len(step.shape.sounding)] for index in range(5)]
        strokes = tuple(Stroke(1 + Fraction(index, 2), (string,)) for index, string in enumerate(strings))
        steps.append(replace(step, strokes=strokes))
    return write(replace(drill, steps=tuple(steps)))


def reference(data: bytes) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21

        music21.converter.parseData(data, format="musicxml")


def timed(run: Callable[[], object], rounds: int) -> float:
    """Return the best of some rounds in seconds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return best


def started(*words: str) -> float:
    """Return the best of five runs of a Python program in seconds."""
    return timed(lambda: subprocess.run([sys.executable, *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL), 5)


if __name__ == "__main__":
    reference(made(2))
    main()
