"""The pure packages stay pure, imports run downwards, and a command pays only for what it uses."""

from __future__ import annotations

import ast
import json
import os
import pkgutil
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import trainer

ROOT = Path(trainer.__file__).parents[1]
PURE = ("trainer.fretboard", "trainer.hand", "trainer.practice", "trainer.listen.matcher", "trainer.listen.setup")
"""Packages whose time, chance, ids and data are arguments."""
OUTSIDE = {"textual", "rich", "mido", "rtmidi", "sqlite3", "platformdirs", "tomlkit", "fsrs", "miniaudio"}
"""Screen, ports, database, files: nothing a pure package may bring in, even by way of another module."""
TOUCHES = {"open", "input", "print", "exec", "eval", "breakpoint", "__import__"}
"""Built-in functions that reach outside without an import."""


def _modules(package: str) -> list[str]:
    """Return a package and everything in it, by name."""
    folder = str(ROOT / package.replace(".", "/"))
    return [package, *(found.name for found in pkgutil.walk_packages([folder], f"{package}."))]


def _loaded(code: str) -> set[str]:
    """Return the top-level names of every module that is loaded once `code` has run in a fresh interpreter."""
    text = f"import json, sys\n{code}\nsys.stderr.write(json.dumps(sorted(sys.modules)))"
    command = [sys.executable, "-W", "error", "-c", text]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    return {name.partition(".")[0] for name in json.loads(done.stderr)}


def test_import_contracts_hold() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([linter, "--no-cache"], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stdout
    assert "3 kept, 0 broken" in done.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("fretboard/shape.py", "import trainer.hand.reach", "Imports run downwards"),
        ("log/store.py", "import trainer.files.toml", "Imports run downwards"),
        ("practice/drill.py", "import time", "The pure core touches neither screen, port, database nor clock"),
        ("hand/frame.py", "import random", "The pure core touches neither screen, port, database nor clock"),
        ("files/toml.py", "import textual", "Only the screens import Textual"),
    ],
)
def test_the_contracts_catch_an_import_that_breaks_them(tmp_path: Path, module: str, line: str, contract: str) -> None:
    shutil.copytree(ROOT / "trainer", tmp_path / "trainer", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    broken = tmp_path / "trainer" / module
    broken.write_text(f"{broken.read_text(encoding='utf-8')}\n{line}\n", encoding="utf-8")
    linter = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [linter, "--no-cache"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )
    assert done.returncode == 1
    assert f"{contract} BROKEN" in done.stdout


@pytest.mark.parametrize("package", PURE)
def test_a_pure_package_brings_in_nothing_from_outside(package: str) -> None:
    modules = _modules(package)
    assert len(modules) > 1
    assert _loaded("".join(f"import {module}\n" for module in modules)) & OUTSIDE == set()


@pytest.mark.parametrize("package", ["trainer.fretboard", "trainer.practice"])
def test_numpy_is_left_to_the_search(package: str) -> None:
    assert "numpy" not in _loaded("".join(f"import {module}\n" for module in _modules(package)))


@pytest.mark.parametrize("package", PURE)
def test_a_pure_package_calls_nothing_that_reaches_outside(package: str) -> None:
    for source in sorted((ROOT / package.replace(".", "/")).rglob("*.py")):
        calls = [node.func for node in ast.walk(ast.parse(source.read_text("utf-8"))) if isinstance(node, ast.Call)]
        named = {func.id for func in calls if isinstance(func, ast.Name)}
        assert named & TOUCHES == set(), source


@pytest.mark.parametrize("words", [["explain", "C", "F"], ["explain", "--json", "C", "F"], ["explain", "full-barre"]])
def test_explain_pays_for_nothing_it_does_not_use(words: list[str]) -> None:
    code = (
        "import contextlib, io\nfrom trainer.cli import main\n"
        f"with contextlib.redirect_stdout(io.StringIO()) as out:\n    assert main({words}) == 0\n"
        "assert out.getvalue()"
    )
    unused = {"textual", "rich", "numpy", "mido", "rtmidi", "sqlite3", "fsrs", "music21"}
    assert _loaded(code) & unused == set()
