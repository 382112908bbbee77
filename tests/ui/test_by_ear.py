"""What a player is told over a real MIDI port: what to mend, a check, a pedal, a run to the beat, a take."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.listen.building import AM, D7, C, G, Playing
from tests.listen.jack import ScriptedGuitar
from tests.listen.sending import sent
from tests.ui.app_fakes import app, services, shows, until, written
from trainer.files import paths
from trainer.files.guitars import Guitar
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Timing
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.board.marks import Sign
from trainer.ui.board.widget import Board
from trainer.ui.drilling.ears import Wish
from trainer.ui.screens.drill import DrillScreen
from trainer.ui.services import Services

SHAPES = (AM, C, D7, G)
DRILL = from_shapes(["Am", "C", "D7", "G"])
PORT = "Ours:strings"
EVERY_S = 0.3


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


def known(log: Log) -> Services:
    given = services(log)
    given.guitars[PORT] = Guitar(Wiring(strings=in_order(1)))
    return given


def script(first: int, shapes: int) -> list[tuple[float, bytes]]:
    playing = Playing()
    for number in range(shapes):
        at = number * EVERY_S
        playing.shape(at, SHAPES[(first + number) % len(SHAPES)], at + EVERY_S - 0.02, apart=0.004)
    return sent(playing.events)


def board(pilot: Pilot[None]) -> Board:
    return pilot.app.screen.query_one("#board", Board)


def attempts(log: Log) -> list[Attempt]:
    with written(log) as history:
        runs = history.runs()
        return [attempt for run in reversed(runs) for attempt in history.of_run(run.id)]


async def test_strings_light_as_heard_and_one_line_says_what_to_mend(log: Log, jack: str) -> None:
    with ScriptedGuitar("Ours") as guitar:
        async with app(known(log), "drill", drill=DRILL, mode=Mode.HEARD).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, PORT))
            await asyncio.to_thread(guitar.play, sent(Playing().shape(0, AM, 0.4, apart=0).events))
            half = Playing().shape(0.0, C, apart=0, without=[1, 2])
            await asyncio.to_thread(guitar.play, sent(half.events))
            await until(pilot, lambda: board(pilot).lights.get(3) is Sign.HEARD)
            await until(pilot, lambda: board(pilot).lights.get(1) is Sign.MISSING)
            assert board(pilot).lights.get(2) is Sign.MISSING
            await asyncio.to_thread(guitar.play, sent(Playing().shape(0, D7, 0.4, apart=0).events))
            await until(pilot, lambda: shows(pilot, "Am → C: string 2 missing."))
            await asyncio.to_thread(guitar.play, sent(Playing().shape(0, G, 0.4, apart=0).events))
            await until(pilot, lambda: shows(pilot, "C → D7: clean."))
            assert not shows(pilot, "last change"), "that was D7 → G, of which nothing is known yet"


async def test_a_pedal_and_keys_work_beside_the_guitar(log: Log, jack: str) -> None:
    given = known(log)
    with ScriptedGuitar("Ours") as guitar:
        async with app(given, "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, PORT))
            for value in (127, 0, 127, 0):
                await asyncio.to_thread(guitar.send, bytes((0xB0, 64, value)))
                await pilot.pause(0.1)
            await until(pilot, lambda: shows(pilot, "change 2 of 8"))
    (attempt,) = attempts(log)
    assert (attempt.timing, attempt.source) == (Timing.LEAVE, "pedal")


async def test_a_silent_landing_is_checked_string_by_string(log: Log, jack: str) -> None:
    with ScriptedGuitar("Ours") as guitar:
        async with app(known(log), "drill", drill=DRILL, mode=Mode.HEARD).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, PORT))
            await pilot.press("v")
            await until(pilot, lambda: shows(pilot, "Check: Pluck string by string, from string 5."))
            # A minor: A2 E3 A3 C4 E4; string 3 gives G sharp.
            for place, (string, pitch) in enumerate(((5, 45), (4, 52), (3, 56))):
                await asyncio.to_thread(guitar.send, bytes((0x90 | (string - 1), pitch, 80)))
                await until(pilot, lambda place=place: len(board(pilot).lights) == place + 1)  # type: ignore[misc]
            await until(pilot, lambda: shows(pilot, "Check: String 3 sounds G#3, not A3: look at its finger."))
            assert board(pilot).lights[3] is Sign.WRONG
            assert board(pilot).lights[5] is Sign.HEARD
            await pilot.press("v")
            await until(pilot, lambda: not shows(pilot, "Check:"))
    assert attempts(log) == []


async def test_to_the_beat_the_guitar_answers_how_many_landed(log: Log, jack: str) -> None:
    with ScriptedGuitar("Ours") as guitar:
        given = known(log)
        screen = app(given, "drill", drill=from_shapes(["Am", "C"]), mode=Mode.PACED, tempo=240.0)
        async with screen.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, PORT))
            await pilot.press("space")
            await until(pilot, lambda: shows(pilot, "count-in"))
            drilling = pilot.app.screen
            assert isinstance(drilling, DrillScreen)
            assert drilling.conductor.listening is not None
            grid = drilling.conductor.listening._grid
            assert grid is not None
            # From a little before the first beat on a shape each bar; a quarter of a second is a beat.
            playing = Playing()
            for number in range(5):
                playing.shape(number, (AM, C)[number % 2], 0.9 + number, apart=0.004)
            guitar.start(((at, 0, data) for at, data in sent(playing.events)), grid.at - 0.1)
            await asyncio.to_thread(guitar.wait)
            await until(pilot, lambda: shows(pilot, "run over", "4 of 4 landed"))
    heard = [attempt for attempt in attempts(log) if attempt.timing is Timing.HEARD]
    assert len(heard) == 4
    assert {attempt.tempo for attempt in heard} == {240.0}
    assert all(attempt.measures is not None and attempt.measures.lateness_ms is not None for attempt in heard)
    with written(log) as history:
        (run,) = history.runs()
    assert (run.timing, run.asked, run.landed) == (Timing.BEAT, 4, 4)


async def test_a_session_is_kept_as_a_take_that_says_where_it_lies(log: Log, jack: str, tmp_path: Path) -> None:
    given, path = known(log), tmp_path / "mine.mid"
    with ScriptedGuitar("Ours") as guitar:
        screen = app(given, "drill", drill=DRILL, mode=Mode.HEARD, wish=Wish(PORT, keep=True, take=path))
        async with screen.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, PORT))
            await asyncio.to_thread(guitar.play, script(0, 3))
            await until(pilot, lambda: shows(pilot, "change 3 of 8"))
    assert path.read_bytes().startswith(b"MThd")
    assert any(str(path) in line for line in given.parting)
