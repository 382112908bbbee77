"""How many small faults the tests notice: mutants of grading, of change analysis and of the search, killed or survived.

Run `python tests/bench/bench_mutants.py GROUP [--count 60] [--seed 1] [--seconds 600]`. Each mutant changes one place
in a copy of the tree in a temporary folder; the group's tests then run against the copy in a process of their own.
Mutants are drawn without replacement from every place in the group's modules, so a run cut short by `--seconds` is
still a random sample. A time-out counts as killed. Left alone: annotations, decorators and `strict=` of `zip`.
The interval is Wilson's score interval at 95 % (Wilson 1927, JASA 22, 209-212).
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from math import sqrt
from pathlib import Path

import hypothesis  # noqa: F401  # loaded once, before the forks
import numpy as np  # noqa: F401  # likewise
import pytest

ROOT = Path(__file__).resolve().parents[2]
GROUPS = {
    "grading": (
        (
            "practice/measures.py",
            "practice/flaws.py",
            "practice/session.py",
            "practice/state.py",
            "listen/matcher/*.py",
        ),
        ("practice/test_measures.py", "listen/test_matcher_*.py", "practice/test_session_*.py"),
    ),
    "analysis": (("hand/*.py",), ("hand/test_*.py",)),
    "search": (
        ("hand/search/costs.py", "hand/search/grips.py", "hand/search/trellis.py"),
        tuple(
            f"hand/search/test_{name}.py"
            for name in ("trellis", "costs_by_hand", "grips", "costs", "exact", "examples")
        ),
    ),
}
"""Of each group its modules below `trainer` and its tests below `tests`, the quickest to tell first."""

SLOW = ("properties", "player", "invariants", "held")
"""Tests whose names hold one of these run last: they draw or play much."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


def changes(node: ast.AST) -> Iterator[ast.AST]:
    """Every node that may stand in for this one."""
    match node:
        case ast.Compare(left, [first, *rest], comparators) if type(first) in COMPARED:
            yield ast.Compare(left, [COMPARED[type(first)](), *rest], comparators)
        case ast.BinOp(left, op, right) if type(op) in RECKONED:
            yield ast.BinOp(left, RECKONED[type(op)](), right)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
        case ast.UnaryOp(ast.Not(), operand):
            yield operand
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() | float() as value):
            yield ast.Constant(value + 1)
            yield ast.Constant(value - 1)
        case ast.Return(ast.expr() as value) if not (isinstance(value, ast.Constant) and value.value is None):
            yield ast.Return(ast.Constant(None))


ALREADY_LOADED = "ignore::pytest.PytestAssertRewriteWarning"
"""Hypothesis stands ready in every fork; pytest would warn that it came too late to rewrite its assertions."""

LEFT_ALONE = {"annotation", "returns", "decorator_list", "type_params"}


def places(node: ast.AST) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Every place below a node that can be changed: parent, field, index in a list, and what stands there."""
    for field, value in ast.iter_fields(node):
        if field in LEFT_ALONE or (isinstance(node, ast.keyword) and node.arg == "strict"):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(child, ast.AST):
                yield node, field, index, child
                yield from places(child)


def put(parent: ast.AST, field: str, index: int | None, child: ast.AST) -> None:
    """Let a node stand in one place below its parent."""
    if index is None:
        setattr(parent, field, child)
    else:
        getattr(parent, field)[index] = child


def mutants(path: Path) -> Iterator[tuple[int, str, str]]:
    """Line, what was changed into what, and the whole text of every mutant of a module."""
    tree = ast.parse(path.read_text())
    for parent, field, index, child in list(places(tree)):
        for new in changes(child):
            before = ast.unparse(child)
            put(parent, field, index, ast.copy_location(new, child))
            text = ast.unparse(ast.fix_missing_locations(tree))
            yield getattr(child, "lineno", 0), f"{before}  ->  {ast.unparse(new)}", text
            put(parent, field, index, child)


def passes(copy: Path, tests: list[str], seconds: float, *, keep_bytecode: bool = False) -> bool:
    """Whether the tests pass on the copy, in a process of their own that gets so many seconds."""
    child = os.fork()
    if child == 0:
        os.setsid()
        os.chdir(copy)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(1, 2)
        sys.dont_write_bytecode = not keep_bytecode
        sys.path.insert(0, str(copy))
        options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=1", "-W", ALREADY_LOADED]
        os._exit(int(pytest.main([*options, *tests])))
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.01)
    with suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def wilson(hits: int, of: int, z: float = 1.96) -> tuple[float, float]:
    """Wilson's score interval of a share."""
    share, zz = hits / of, z * z
    middle, half = share + zz / (2 * of), z * sqrt(share * (1 - share) / of + zz / (4 * of * of))
    return (middle - half) / (1 + zz / of), (middle + half) / (1 + zz / of)


def run(group: str, count: int, seed: int, seconds: float) -> None:
    modules, tests = GROUPS[group]
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(folder)
        for name in ("trainer", "tests", "drills", "themes"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        paths = [path for pattern in modules for path in sorted((copy / "trainer").glob(pattern))]
        named = [str(path) for pattern in tests for path in sorted((copy / "tests").glob(pattern))]
        named.sort(key=lambda name: any(slow in name for slow in SLOW))
        began = time.monotonic()
        if not passes(copy, named, seconds, keep_bytecode=True):
            sys.exit(f"{group}: the tests fail, or are not done in {seconds:.0f} s, before anything is changed")
        whole = time.monotonic() - began
        found = [(path, *mutant) for path in paths for mutant in mutants(path)]
        drawn = random.Random(seed).sample(found, min(count, len(found)))
        print(f"{group}: {len(found)} mutants of {len(paths)} modules, tests unchanged {whole:.1f} s", flush=True)
        killed = tried = 0
        for path, number, change, text in drawn:
            if time.monotonic() - began > seconds:
                break
            original = path.read_text()
            # Bytecode is told apart by second and size only: what is changed must never be taken from it.
            for stale in (path.parent / "__pycache__").glob(f"{path.stem}.*"):
                stale.unlink()
            path.write_text(text)
            survived = passes(copy, named, 3 * whole + 5)
            path.write_text(original)
            tried, killed = tried + 1, killed + (not survived)
            print(f"{'SURVIVED' if survived else 'killed'}  {path.relative_to(copy)}:{number}  {change}", flush=True)
    if tried:
        low, high = wilson(killed, tried)
        print(f"{group}: {killed} of {tried} killed, {killed / tried:.0%} ({low:.0%} to {high:.0%}), seed {seed}")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("group", choices=GROUPS)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=600)
    options = parser.parse_args()
    run(options.group, options.count, options.seed, options.seconds)


if __name__ == "__main__":
    main()
