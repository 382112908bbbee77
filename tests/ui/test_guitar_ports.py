"""The setup screen with real ports: a guitar in a process of its own, through JACK, is learned and kept."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.listen.jack import ScriptedGuitar
from tests.listen.setup.hands import OPEN, Striker
from tests.ui.app_fakes import app, services, shows, until
from trainer.files import guitars, paths
from trainer.listen.setup import flow, striking
from trainer.log.writer import Log
from trainer.practice.wiring import in_order, two_periods_ms
from trainer.ui.screens.guitar import GuitarScreen

CHANNELS = {6: 11, 5: 12, 4: 13, 3: 14, 2: 15, 1: 16}
LATE = {string: 1.4 * ms for string, ms in two_periods_ms(OPEN).items()}
LOUD = {6: 90, 5: 84, 4: 80, 3: 80, 2: 76, 1: 64}
APART_S = 0.25
SOUNDS_S = 0.2
BEAT_S = 0.25
"""At a beat of a second it would take 36 s; the routine is the same at any."""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as log:
        yield log


def plucked(at: float, string: int) -> list[tuple[float, bytes]]:
    channel, pitch = CHANNELS[string] - 1, OPEN[string]
    return [(at, bytes((0x90 | channel, pitch, LOUD[string]))), (at + SOUNDS_S, bytes((0x80 | channel, pitch, 0)))]


async def play(guitar: ScriptedGuitar, *strings: int) -> None:
    """Have strings plucked one after another, without keeping the app waiting."""
    notes = [note for place, string in enumerate(strings) for note in plucked(place * APART_S, string)]
    await asyncio.to_thread(guitar.play, notes)


async def test_a_guitar_is_set_up_over_a_real_port_that_is_lost_in_the_middle(
    log: Log, jack: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(striking, "BEAT_S", BEAT_S)
    monkeypatch.setattr(flow, "BEAT_S", BEAT_S)
    given = services(log)
    with ScriptedGuitar("Demo guitar") as guitar:
        async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, "Demo guitar:strings", "not set up yet"))
            await play(guitar, 3)
            await until(pilot, lambda: shows(pilot, "open string, E2"))
            await play(guitar, 6, 5)
            await until(pilot, lambda: shows(pilot, "open string, D3"))
            guitar.close()
            await until(pilot, lambda: shows(pilot, "The guitar is gone."))
            guitar.open()
            await until(pilot, lambda: shows(pilot, "The guitar is back.", "open string, D3"))
            await play(guitar, 4, 2, 3, 2, 1, 6)
            await until(pilot, lambda: shows(pilot, "[1 strings ✓]"))
            await pilot.press("enter")
            await play(guitar, *(string for string in (6, 5, 4, 3, 2, 1) for _ in range(6)))
            await until(pilot, lambda: shows(pilot, "[2 levels ✓]"))
            await pilot.press("enter")
            await until(pilot, lambda: shows(pilot, "[3 latency]"))
            await pilot.press("enter")
            await until(pilot, lambda: shows(pilot, "get ready"))
            screen = pilot.app.screen
            assert isinstance(screen, GuitarScreen)
            assert screen.sitting.setup is not None
            beat = screen.sitting.setup.striking
            strokes = Striker(LATE, habit_ms=-20, beat_scatter_ms=8, hand_scatter_ms=1).play(beat)
            begin = given.clock()
            notes = sorted(note for at, string in strokes for note in plucked(at - begin, string))
            await asyncio.to_thread(guitar.play, notes)
            await until(pilot, lambda: shows(pilot, "[3 latency ✓]", "Strings are known to ±"))
    found, problems = guitars.load(paths.guitars_file())
    assert problems == ()
    (kept,) = found.values()
    assert kept.wiring.strings == in_order(11, descending=True)
    assert kept.wiring.levels == {6: -10, 5: -4, 4: 0, 3: 0, 2: 4, 1: 16}
    for string, ms in LATE.items():
        told = kept.wiring.latency_ms[string] - kept.wiring.latency_ms[1]
        assert told == pytest.approx(ms - LATE[1], abs=3)
