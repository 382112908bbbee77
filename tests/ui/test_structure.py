"""How the app is cut: small, and imports in one direction only."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

UI = Path(__file__).parents[2] / "trainer" / "ui"
MODULES = sorted(UI.rglob("*.py"))


def imports(path: Path) -> Iterator[str]:
    """Yield every module that `path` imports, at the top or later."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module is not None:
            yield node.module


def lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def test_the_app_is_short() -> None:
    assert lines(UI / "app.py") < 200


@pytest.mark.parametrize("path", sorted((UI / "screens").glob("*.py")), ids=lambda path: path.stem)
def test_a_screen_is_short(path: Path) -> None:
    assert lines(path) < 300


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(UI)))
def test_nothing_but_the_start_knows_the_app(path: Path) -> None:
    if path.name != "start.py":
        assert "trainer.ui.app" not in set(imports(path))


@pytest.mark.parametrize("path", sorted((UI / "drilling").glob("*.py")), ids=lambda path: path.stem)
def test_drilling_knows_no_textual(path: Path) -> None:
    assert not any(module.split(".")[0] == "textual" for module in imports(path))


def test_what_stands_behind_the_screens_loads_no_textual() -> None:
    packages = ("choosing", "drilling", "fingering", "lines", "progress", "room", "setting_up", "warming")
    modules = [f"trainer.ui.{package}.{path.stem}" for package in packages for path in (UI / package).glob("*.py")]
    code = "".join(f"import {module.removesuffix('.__init__')}\n" for module in modules)
    check = "import sys\nsys.exit('textual' in sys.modules)"
    assert len(modules) > 2 * len(packages)
    assert subprocess.run([sys.executable, "-c", code + check], check=False).returncode == 0


def test_threads_reach_a_screen_in_one_way_which_knows_when_it_is_taken_down() -> None:
    assert [path.stem for path in (UI / "screens").glob("*.py") if "call_from_thread" in path.read_text()] == ["base"]


@pytest.mark.parametrize("path", sorted((UI / "widgets").glob("*.py")), ids=lambda path: path.stem)
def test_a_widget_knows_no_screen(path: Path) -> None:
    assert not any(module.startswith("trainer.ui.screens") for module in imports(path))


@pytest.mark.parametrize("path", sorted(UI.rglob("*.tcss")), ids=lambda path: path.stem)
def test_styles_name_no_colour_but_a_themes(path: Path) -> None:
    for line in path.read_text(encoding="utf-8").splitlines():
        for rule in ("color:", "background:"):
            _, found, value = line.partition(rule)
            assert not found or value.strip().startswith("$")
