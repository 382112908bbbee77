"""The setup screen by its keys and by a guitar played by hand: every step, kept at once, left and resumed."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from tests.listen.setup.hands import OPEN, Sent, Striker, Tracker, on
from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from tests.ui.setting_up_fakes import HandPorts
from trainer.files import guitars, paths
from trainer.files.guitars import Guitar
from trainer.listen import wire
from trainer.log.writer import Log
from trainer.practice.quick import from_shapes
from trainer.practice.wiring import Trigger, Wiring, in_order, two_periods_ms
from trainer.ui.screens.guitar import GuitarScreen
from trainer.ui.services import Services

PORT, OTHER = "Demo guitar:strings", "Second guitar:strings"
CHANNELS = {6: 11, 5: 12, 4: 13, 3: 14, 2: 15, 1: 16}
STRINGS = in_order(11, descending=True)
ONCE_MORE = (6, 5, 4, 3, 2, 1, 6)
LATE = {string: 1.5 * ms for string, ms in two_periods_ms(OPEN).items()}


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as log:
        yield log


def by_hand(log: Log, **changes: Any) -> tuple[Services, HandPorts]:
    given = services(log, **changes)
    return given, HandPorts(given)


def kept(port: str = PORT) -> Guitar:
    """Return what the file says of the guitar on a port."""
    found, problems = guitars.load(paths.guitars_file())
    assert problems == ()
    return found[port]


def pedal(number: int = 64) -> list[Sent]:
    return [(moment, wire.Message(wire.CONTROL, 1, number, value)) for moment, value in ((0.0, 127), (0.05, 0))]


async def chosen(pilot: Pilot[None], ports: HandPorts) -> None:
    """Have the one port that is there chosen."""
    ports.found(PORT)
    await until(pilot, lambda: shows(pilot, PORT, "ENTER"))
    await pilot.press("enter")
    await until(pilot, lambda: shows(pilot, "[1 strings"))


async def test_without_a_port_it_says_what_is_missing_and_shows_one_as_it_comes(log: Log) -> None:
    given, ports = by_hand(log)
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "0 ports", "No MIDI port is there. Plug the guitar"))
        assert not shows(pilot, "ENTER")
        ports.trouble("no MIDI here: python-rtmidi is missing (install changeover[midi])")
        await until(pilot, lambda: "python-rtmidi is missing" in running_text(pilot))
        ports.found(PORT)
        await until(pilot, lambda: shows(pilot, "1 port", PORT, "not set up yet", "ENTER"))
        assert not shows(pilot, "rtmidi")
        ports.lost(PORT)
        await until(pilot, lambda: shows(pilot, "0 ports"))


async def test_of_several_ports_the_one_that_is_plucked_is_taken(log: Log) -> None:
    given, ports = by_hand(log)
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        for port in ("Midi Through:port", PORT, OTHER):
            ports.found(port)
        await until(pilot, lambda: shows(pilot, "3 ports", "Pluck any string"))
        ports.play(OTHER, Tracker(CHANNELS).pluck(2))
        await until(pilot, lambda: shows(pilot, OTHER, "[1 strings]", "open string, E2"))
        await pilot.press("tab", "up", "enter")
        await until(pilot, lambda: shows(pilot, PORT, "[1 strings]"))


async def test_every_step_is_done_with_the_guitar_and_one_pedal_and_kept_at_once(log: Log) -> None:
    given, ports = by_hand(log)
    given.wall = lambda: datetime(2026, 3, 14, 12, tzinfo=UTC).timestamp()
    tracker = Tracker(CHANNELS)
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        await chosen(pilot, ports)
        ports.play(PORT, tracker.plucks(ONCE_MORE))
        await until(pilot, lambda: shows(pilot, "[1 strings ✓]", "A channel for each string, 11 to 16"))
        assert kept().wiring.strings == STRINGS
        ports.play(PORT, pedal())
        await until(pilot, lambda: shows(pilot, "[2 levels]", "pluck evenly"))
        loud = {6: 90, 5: 80, 4: 80, 3: 80, 2: 80, 1: 60}
        ports.play(PORT, [one for s in loud for _ in range(6) for one in tracker.pluck(s, loud[s])])
        await until(pilot, lambda: shows(pilot, "[2 levels ✓]", "level +20"))
        assert kept().wiring.levels == {6: -10, 5: 0, 4: 0, 3: 0, 2: 0, 1: 20}
        ports.play(PORT, pedal())
        await until(pilot, lambda: shows(pilot, "[3 latency]", "begins the beat"))
        await strike(pilot, given, ports)
        await until(pilot, lambda: shows(pilot, "[3 latency ✓]", "Strings are known to ±"))
        late = kept()
        assert late.measured is not None
        assert str(late.measured) == "2026-03-14"
        assert late.wiring.latency_ms[6] - late.wiring.latency_ms[1] == pytest.approx(LATE[6] - LATE[1], abs=5)
        assert 0 < late.spread_ms[6] < 6
        ports.play(PORT, pedal())
        await until(pilot, lambda: shows(pilot, "[4 pedals]", "Known: controller 64 is press."))
        ports.play(PORT, [*pedal(66)])
        await until(pilot, lambda: shows(pilot, "controller 66 does this in a drill"))
        await pilot.press("down")
        assert kept().wiring.calls[Trigger("control", 66)] == "next"


async def strike(pilot: Pilot[None], given: Services, ports: HandPorts) -> None:
    """Have the beat begun and struck along with; the clock is moved on by hand, for it takes 36 s."""
    screen = pilot.app.screen
    assert isinstance(screen, GuitarScreen)
    ahead = 0.0
    clock = given.clock
    given.clock = lambda: clock() + ahead
    ports.play(PORT, pedal())
    await until(pilot, lambda: shows(pilot, "6 3 2 1") or shows(pilot, "get ready"))
    setup = screen.sitting.setup
    assert setup is not None
    heard = Striker(LATE, habit_ms=-20).play(setup.striking)
    ports.play_at(PORT, [(moment, on(CHANNELS[string], OPEN[string])) for moment, string in heard])
    await until(pilot, lambda: len(_onsets(screen)) == len(heard))
    ahead = heard[-1][0] - clock() + 2.0


def _onsets(screen: GuitarScreen) -> tuple[tuple[float, int], ...]:
    assert screen.sitting.setup is not None
    return screen.sitting.setup.striking.onsets


async def test_the_beat_is_shown_and_rung_and_stopped_by_the_same_key(
    log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    given, ports = by_hand(log)
    given.guitars[PORT] = Guitar(Wiring(strings=STRINGS, levels={6: 1.0}))
    rung: list[float] = []
    shown = app(given, "guitar")
    monkeypatch.setattr(shown, "bell", lambda: rung.append(given.clock()))
    async with shown.run_test(size=(80, 24)) as pilot:
        ports.found(PORT)
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "[3 latency]"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "[1]  2   3   4"))
        await until(pilot, lambda: shows(pilot, " 1  [2]  3   4"))
        assert len(rung) == 2
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "Stopped; nothing is kept.", "begins the beat"))


async def test_a_port_lost_in_the_middle_is_told_and_goes_on_where_it_was(log: Log) -> None:
    given, ports = by_hand(log)
    tracker = Tracker(CHANNELS)
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        await chosen(pilot, ports)
        ports.play(PORT, tracker.plucks((6, 5, 4)))
        await until(pilot, lambda: shows(pilot, "open string, G3"))
        ports.lost(PORT)
        await until(pilot, lambda: shows(pilot, "The guitar is gone."))
        ports.found(PORT)
        await until(pilot, lambda: shows(pilot, "The guitar is back.", "open string, G3"))
        ports.play(PORT, tracker.plucks((3, 2, 1, 6)))
        await until(pilot, lambda: shows(pilot, "[1 strings ✓]"))
    assert kept().wiring.strings == STRINGS


async def test_it_is_left_in_the_middle_and_resumed_from_home_and_drill_by_one_key(log: Log) -> None:
    given, ports = by_hand(log)
    async with app(given).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "g guitar"))
        await pilot.press("g")
        await until(pilot, lambda: shows(pilot, "0 ports"))
        await chosen(pilot, ports)
        ports.play(PORT, Tracker(CHANNELS).plucks((6, 5)))
        await until(pilot, lambda: shows(pilot, "open string, D3"))
        await pilot.press("escape")
        await until(pilot, lambda: ports.closed)
        await pilot.press("g")
        ports.found(PORT)
        await until(pilot, lambda: shows(pilot, PORT))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "open string, D3"))
    async with app(given, "drill", drill=from_shapes(["C", "F"])).run_test(size=(80, 24)) as pilot:
        await pilot.press("g")
        await until(pilot, lambda: shows(pilot, "Set up a guitar"))


async def test_a_step_is_skipped_and_taken_again(log: Log) -> None:
    given, ports = by_hand(log)
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        await chosen(pilot, ports)
        await pilot.press("n", "n", "n", "n")
        await until(pilot, lambda: shows(pilot, "[4 pedals]"))
        await pilot.press("left", "left", "left")
        ports.play(PORT, Tracker(CHANNELS).plucks((6, 5)))
        await until(pilot, lambda: shows(pilot, "open string, D3"))
        await pilot.press("r")
        await until(pilot, lambda: shows(pilot, "open string, E2"))


async def test_what_cannot_be_kept_is_told(log: Log) -> None:
    given, ports = by_hand(log)
    paths.guitars_file().mkdir()
    async with app(given, "guitar").run_test(size=(80, 24)) as pilot:
        await chosen(pilot, ports)
        ports.play(PORT, Tracker(CHANNELS).plucks(ONCE_MORE))
        await until(pilot, lambda: "guitars.toml" in running_text(pilot))
    assert given.guitar(PORT).wiring.strings == STRINGS, "it is heard all the same"


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
@pytest.mark.parametrize("glyphs", ["unicode", "ascii"])
async def test_every_step_is_drawn_at_every_size(log: Log, size: tuple[int, int], glyphs: str) -> None:
    given, ports = by_hand(log, glyphs=glyphs)
    given.guitars[PORT] = Guitar(
        Wiring(strings=STRINGS, levels=dict.fromkeys(OPEN, -10.0), latency_ms=LATE), dict.fromkeys(OPEN, 2.5)
    )
    async with app(given, "guitar").run_test(size=size) as pilot:
        ports.found(PORT)
        await until(pilot, lambda: shows(pilot, PORT))
        await pilot.press("enter", "left", "left", "left")
        for step in ("[1 strings", "[2 levels", "[3 latency", "[4 pedals"):
            ports.play(PORT, Tracker(CHANNELS).plucks(OPEN))
            await until(pilot, lambda step=step: shows(pilot, step, "? help"))  # type: ignore[misc]  # bound at once
            await until(pilot, lambda: shows(pilot, "string 1  E4", "string 6  E2", "80", "channel 11"))
            assert len(rows(pilot)) == size[1]
            if glyphs == "ascii":
                assert all(row.isascii() for row in rows(pilot))
            await pilot.press("n")


async def test_a_guitar_that_plays_on_while_the_screen_is_left_does_no_harm(log: Log) -> None:
    given, ports = by_hand(log)
    async with app(given, "home").run_test(size=(80, 24)) as pilot:
        screen = GuitarScreen(given)
        await pilot.app.push_screen(screen)
        await chosen(pilot, ports)
        pilot.app.pop_screen()
        while screen.is_running:  # its widgets go one after another, and something comes in at every step
            ports.play(PORT, Tracker(CHANNELS).pluck(6))
            await asyncio.sleep(0)
        await until(pilot, lambda: shows(pilot, "drills"))
