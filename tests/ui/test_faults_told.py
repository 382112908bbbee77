"""What is wrong with a player's own files is told where they look: at home, in the library, in the settings."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice.wiring import Wiring
from trainer.ui.services import open_services


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


async def test_a_damaged_settings_file_is_put_aside_and_home_says_where(log: Log) -> None:
    paths.settings_file().write_text('hand = "sm', encoding="utf-8")
    given = open_services()
    given.log = log
    async with app(given).run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: "settings.toml:1: a text without its closing quote" in running_text(pilot))
        await pilot.press("s")
        await until(pilot, lambda: shows(pilot, "repeat guard"))
        await pilot.press("down", "enter", "escape")
        await until(pilot, lambda: "it lies beside as settings.toml.bad now" in running_text(pilot))
        assert "closing quote" not in running_text(pilot)
    assert paths.settings_file().with_name("settings.toml.bad").read_text(encoding="utf-8") == 'hand = "sm'


def test_a_damaged_file_of_guitars_is_told_at_the_start_and_when_it_is_put_aside(log: Log) -> None:
    paths.guitars_file().write_text("[guitars", encoding="utf-8")
    given = open_services()
    (problem,) = given.problems
    assert problem.file == str(paths.guitars_file())
    given.keep_guitar("a", given.guitar("a"))
    (problem,) = given.problems
    assert "guitars.toml.bad" in problem.what
    assert open_services().guitar("a").wiring == Wiring()


async def test_settings_show_the_values_that_hold_with_their_units(log: Log) -> None:
    async with app(services(log, repeat_ms=80, hand="child"), "settings").run_test(size=(80, 40)) as pilot:
        await until(pilot, lambda: shows(pilot, "repeat guard"))
        seen = {label: value.strip() for label, _, value in (row.strip("► ").partition("  ") for row in rows(pilot))}
        assert seen["repeat guard"] == "80 ms"
        assert seen["theme"].endswith("(as it ships)")
        assert seen["theme"] != "(as it ships)"
        assert seen["comfortable reach"].endswith("mm (child)")
        assert seen["comfortable reach"][0].isdigit()
        assert seen["largest reach"][0].isdigit()


async def test_a_drill_that_cannot_be_used_is_marked_in_the_library(log: Log) -> None:
    paths.drills_dir().mkdir(parents=True)
    shapes = '\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n'
    (paths.drills_dir() / "good.toml").write_text('title = "Sound one"' + shapes, encoding="utf-8")
    (paths.drills_dir() / "bad.toml").write_text('title = "Odd one"\ntempo = -3' + shapes, encoding="utf-8")
    async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "! cannot be used"))
        (marked,) = (line for line in rows(pilot) if "cannot be used" in line)
        assert marked.strip("► ").startswith("Odd one")
        await pilot.press("up")
        await pilot.press("down", "down")
        assert shows(pilot, "! cannot be used")
