"""Much of everything: a drill of as many shapes as one may have, one of more, and ten thousand drills in the folder.

How fast and how large they are is measured in `tests/bench/bench_library.py`.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from threading import current_thread, main_thread

import pytest
from textual.worker import get_current_worker

from tests.faults.programs import changeover, refused
from tests.ui.app_fakes import app, services, shows, until
from trainer.errors import Problem
from trainer.files.drills import MOST_SHAPES, parse
from trainer.files.library import Entry, Head, library
from trainer.hand.reach import Hand
from trainer.log.writer import Log
from trainer.practice.drill import Drill

MANY = 10_000
SHAPES = ("Em", "Am", "C", "G", "D")


def text(count: int) -> str:
    tables = (f'[[shapes]]\nshape = "{SHAPES[n % len(SHAPES)]}"\n' for n in range(count))
    return 'format = 1\ntitle = "Long"\n' + "".join(tables)


@pytest.fixture(scope="module")
def longest() -> Drill:
    drill, problems = parse(text(MOST_SHAPES), "long.toml")
    assert drill is not None
    assert not problems
    return drill


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    (home / "drills").mkdir(parents=True)
    (home / "drills" / "long.toml").write_text(text(MOST_SHAPES))
    (home / "drills" / "longer.toml").write_text(text(5000))
    return home


@pytest.mark.parametrize(
    "words",
    [
        ("explain",),
        ("hear", "--mode", "walk"),
        ("sheet", "-o", "{out}.html"),
        ("sheet", "-o", "{out}.svg"),
        ("sheet", "-o", "{out}.txt"),
    ],
    ids=" ".join,
)
def test_every_command_takes_the_longest_drill(home: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    command, *rest = (word.format(out=tmp_path / "out") for word in words)
    done = changeover(home, command, "long", *rest)
    assert done.returncode == 0, done.stderr
    assert done.stderr == b""


def test_a_drill_of_five_thousand_shapes_is_refused_in_one_line(home: Path) -> None:
    assert "shapes: 5000 shapes, 2 to 2000 make a drill" in refused(changeover(home, "explain", "longer"))


def test_too_many_notes_at_once_are_refused_in_one_line(home: Path) -> None:
    assert "take it in parts" in refused(changeover(home, "finger", "long"))


@pytest.mark.parametrize(("screen", "key", "says"), [("drill", "o", "Join plan"), ("room", "n", "change 2 of")])
async def test_the_longest_drill_is_joined_and_shown_to_a_class(
    longest: Drill, home: Path, monkeypatch: pytest.MonkeyPatch, screen: str, key: str, says: str
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(home))
    with Log.open(home / "practice.sqlite3") as log:
        async with app(services(log), screen, drill=longest).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, "change 1 of"))
            await pilot.press(key)
            await until(pilot, lambda: shows(pilot, says))


@pytest.fixture(scope="module")
def full_home() -> Iterator[Path]:
    """A home with ten thousand drills, of which one cannot be used."""
    with tempfile.TemporaryDirectory() as name:
        drills = Path(name) / "drills"
        drills.mkdir()
        first = drills / "number-0.toml"
        first.write_text(text(3))
        for number in range(1, MANY - 1):
            os.link(first, drills / f"number-{number}.toml")
        (drills / "broken.toml").write_text('title = "Broken"\n')
        yield Path(name)


async def test_ten_thousand_drills_are_listed_and_searched(full_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(full_home))
    shipped = len(library().entries) - MANY
    with Log.open(full_home / "practice.sqlite3") as log:
        async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, f"{MANY + shipped} of {MANY + shipped}"))
            await pilot.press(*"number-777")
            await until(pilot, lambda: shows(pilot, f"11 of {MANY + shipped}"))  # 777 and 7770 to 7779


@pytest.mark.parametrize("screen", ["home", "library"])
async def test_looking_through_them_keeps_nobody_waiting_at_the_end(
    full_home: Path, monkeypatch: pytest.MonkeyPatch, screen: str
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(full_home))
    monkeypatch.setattr(Entry, "head", Head("Any", "", ()))
    tried: list[str] = []

    def load(entry: Entry, _: Hand) -> tuple[Drill | None, tuple[Problem, ...]]:
        """Take until the app ends."""
        if current_thread() is main_thread():  # the one that is highlighted
            return None, (Problem("cannot be used"),)
        worker = get_current_worker()
        tried.append(entry.name)
        while not worker.is_cancelled:
            time.sleep(0.001)
        return None, ()

    monkeypatch.setattr(Entry, "load", load)
    with Log.open(full_home / "practice.sqlite3") as log:
        async with app(services(log), screen).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: bool(tried))
    assert len(tried) == 1
