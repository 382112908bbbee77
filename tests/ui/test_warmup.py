"""The warm-up screen: caution once a day, all by one key, drills to the beat, over by itself, written down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest
from textual.pilot import Pilot

from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from trainer.files import kept, paths
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import WARM_UP, Run, Timing
from trainer.practice.warmup import CAUTION
from trainer.ui.screens.warmup import WarmupScreen


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


def let_pass(pilot: Pilot[None], seconds: float) -> None:
    """Let a warm-up be so many seconds further on. Its clock is that of the keys, which cannot be put on."""
    screen = pilot.app.screen
    assert isinstance(screen, WarmupScreen)
    assert screen._warming.since is not None
    screen._warming = replace(screen._warming, since=screen._warming.since - seconds)
    if screen._began is not None:
        screen._began -= seconds


def runs(log: Log) -> list[Run]:
    with reading(log.path) as history:
        return history.runs()


async def test_the_caution_is_shown_once_a_day(log: Log) -> None:
    given = services(log)
    async with app(given, "warmup").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: CAUTION[0] in running_text(pilot) and "10 minutes" in running_text(pilot))
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "Guitar aside", "9:59 left"))
    found, _ = kept.load(paths.kept_file())
    assert found.caution_shown == date.today()
    again = services(log)
    again.kept = found
    async with app(again, "warmup").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "begins.", "60 seconds away"))
        assert CAUTION[0] not in running_text(pilot)


async def test_minutes_and_a_sore_day_are_set_before_it_begins_only(log: Log) -> None:
    async with app(services(log), "warmup").run_test(size=(80, 24)) as pilot:
        await pilot.press("minus", "minus", "e")
        await until(pilot, lambda: shows(pilot, "8 minutes · sore day", "8:00 left"))
        await pilot.press("pagedown", "minus", "e")
        await until(pilot, lambda: shows(pilot, "8 minutes · sore day", "7:59 left"))


async def test_from_the_pedal_alone_to_a_drill_on_the_beat_and_the_spell_is_written_down(log: Log) -> None:
    given = services(log)
    async with app(given, "warmup").run_test(size=(80, 24)) as pilot:
        await pilot.press("pagedown", "pageup", "pageup", "pageup")
        await until(pilot, lambda: shows(pilot, "count-in", "seconds left", "a minute"))
        let_pass(pilot, 20)
        await until(pilot, lambda: not shows(pilot, "count-in"))
        assert shows(pilot, "beat")
        await until(pilot, lambda: given.playing.seconds > 0)
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "goes on."))
        assert [row for row in rows(pilot) if "count-in" in row or " beat" in row]
    (run,) = runs(log)
    assert (run.timing, run.remark, run.asked) == (Timing.BEAT, WARM_UP, None)
    assert run.tempo is not None


async def test_it_is_over_by_itself_and_the_same_key_leaves(log: Log) -> None:
    given = services(log, warmup_minutes=2)
    async with app(given).run_test(size=(60, 20)) as pilot:
        await pilot.press("w", "space")
        await until(pilot, lambda: shows(pilot, "Guitar aside"))
        await pilot.press("n", "n", "n")
        await until(pilot, lambda: shows(pilot, "count-in"))
        let_pass(pilot, 45)
        await pilot.press("n")
        assert not shows(pilot, "Done. Warm hands")
        let_pass(pilot, 60)
        await until(pilot, lambda: shows(pilot, "Done. Warm hands are no licence", "0:00 left"))
        assert max(map(len, rows(pilot))) <= 60
        await pilot.press("space")
        await until(pilot, lambda: not shows(pilot, "Done. Warm hands"))
    assert [run.remark for run in runs(log)] == [WARM_UP] * 2


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_every_part_fits_the_window(log: Log, size: tuple[int, int]) -> None:
    async with app(services(log), "warmup").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "begins."))
        await pilot.press("space")
        for _ in range(6):
            await pilot.press("n")
            assert max(map(len, rows(pilot))) <= size[0]
            assert shows(pilot, "left")
