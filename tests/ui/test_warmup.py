"""The warm-up screen: caution once a day, all by one key, drills to the beat, over by itself, written down."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date

import pytest
from textual.pilot import Pilot

from tests.ui.app_fakes import Silent, app, rows, running_text, services, shows, until, written
from trainer.files import kept, paths
from trainer.log.writer import Log
from trainer.practice.record import WARM_UP, Run, Timing
from trainer.practice.warmup import CAUTION
from trainer.sound.beat import Moments, Pattern
from trainer.sound.metronome import Metronome
from trainer.sound.ways import Choice, Way
from trainer.ui.app import ChangeoverApp
from trainer.ui.drilling.ticker import evenly
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
    warm_up = screen.warm_up
    assert warm_up.state.since is not None
    warm_up.state = replace(warm_up.state, since=warm_up.state.since - seconds)
    if warm_up._began is not None:
        warm_up._began -= seconds


class Quick(Silent):
    """A metronome in a hurry: a hundred beats a second, whatever is asked for."""

    def __init__(self) -> None:
        self.played: list[tuple[float, Pattern]] = []
        self.stopped = 0

    def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
        self.played.append((tempo, pattern))
        return evenly(time.monotonic() if start is None else start, 0.01)

    def stop(self) -> None:
        self.stopped += 1

    @contextmanager
    def open(self, wanted: Way, *_: object, **__: object) -> Iterator[tuple[Metronome, Choice]]:
        yield self, Choice(wanted, "nobody hears it")


def runs(log: Log) -> list[Run]:
    with written(log) as history:
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
    given, quick = services(log), Quick()
    given.opening = quick.open
    async with app(given, "warmup").run_test(size=(80, 24)) as pilot:
        await pilot.press("pagedown", "pageup", "pageup", "pageup")
        await until(pilot, lambda: shows(pilot, "seconds left", "a minute"))
        let_pass(pilot, 20)
        # The beat row goes by what is heard, and the click by the drill.
        await until(pilot, lambda: bool(quick.played) and not shows(pilot, "count-in"))
        ((tempo, pattern),) = quick.played
        assert shows(pilot, "beat", f"at {tempo:g} a minute")
        assert (pattern.beats, pattern.count_in) == (4, 1)
        await until(pilot, lambda: given.playing.seconds > 0)
        stopped = quick.stopped
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "goes on."))
        assert quick.stopped > stopped
        assert [row for row in rows(pilot) if "count-in" in row or " beat" in row]
    (run,) = runs(log)
    assert (run.timing, run.remark, run.asked) == (Timing.BEAT, WARM_UP, None)
    assert run.tempo is not None


async def test_without_a_device_the_bell_rings_and_that_is_said(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    given, rung = services(log), []

    @contextmanager
    def opening(*_: object, **__: object) -> Iterator[tuple[Metronome, Choice]]:
        yield Quick(), Choice(Way.BELL, "", "there is no sound device")

    given.opening = opening
    monkeypatch.setattr(ChangeoverApp, "bell", lambda _: rung.append(1))
    async with app(given, "warmup").run_test(size=(80, 24)) as pilot:
        await pilot.press("space", "n", "n", "n")
        told = "No click by sound: there is no sound device. The terminal's bell rings the beat."
        await until(pilot, lambda: told in running_text(pilot))
        await until(pilot, lambda: len(rung) > 8)
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "goes on."))
        rests = len(rung)
        await pilot.pause(0.1)
        assert len(rung) == rests


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
