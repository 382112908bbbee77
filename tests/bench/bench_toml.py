"""How much longer reading a drill-like file takes with every key checked, against tomllib alone and against tomlkit.

Run: python tests/bench/bench_toml.py
"""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import tomlkit

from trainer.files.kinds import integer, list_of, text
from trainer.files.toml import Document

FILES = 1000
HEAD = 'format = 1\ntitle = "Evening walk"\ntempo = 66\ntuning = ["E2", "A2", "D3", "G3", "B3", "E4"]\n# a remark\n'
SHAPE = '[[shapes]]\nname = "S"\nshape = "x 3/3 2/2 0 1/1 0"\nbeats = 4\n'
NUMBER, TEXT, TEXTS = integer(1, 500), text(), list_of(text(), 1, 12)


def checked(path: Path) -> None:
    """Read a file as drills are read: each key taken, none left over."""
    document, _ = Document.load(path)
    if document is None:
        raise SystemExit("the file is not sound")
    top = document.top
    top.take("format", NUMBER, 1)
    top.need("title", TEXT)
    top.take("tempo", NUMBER, 60)
    top.take("tuning", TEXTS, ())
    for shape in top.tables("shapes"):
        shape.need("name", TEXT)
        shape.need("shape", TEXT)
        shape.take("beats", NUMBER, 4)
    if document.finish():
        raise SystemExit("the file has problems")


def bare(path: Path) -> None:
    """Parse a file and check nothing."""
    tomllib.loads(path.read_text(encoding="utf-8"))


def kept(path: Path) -> None:
    """Parse a file with its comments, as for writing."""
    tomlkit.parse(path.read_text(encoding="utf-8"))


def per_file(read: Callable[[Path], None], paths: list[Path]) -> float:
    """Return the best of three passes over `paths`, in milliseconds for one file."""
    best = float("inf")
    for _ in range(3):
        start = perf_counter()
        for path in paths:
            read(path)
        best = min(best, perf_counter() - start)
    return best / len(paths) * 1000


def main() -> None:
    """Print milliseconds for one file, and the ratios to tomllib."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder, f"{number}.toml") for number in range(FILES)]
        for path in paths:
            path.write_text(HEAD + SHAPE * 8, encoding="utf-8")
        base = per_file(bare, paths)
        for name, read, some in (("tomllib", bare, paths), ("checked", checked, paths), ("tomlkit", kept, paths[:100])):
            took = per_file(read, some)
            print(f"{name:<8} {took:7.3f} ms a file   {took / base:5.2f} x tomllib")


if __name__ == "__main__":
    main()
