"""The drill screen with real ports: a scripted player in a process of its own plays through JACK into the running app.

JACK's dummy driver, 64 frames at 48 kHz. The player says when it really sent what.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import NamedTuple

import pytest

from tests.listen.building import AM, D7, C, G, Playing, drill, step
from tests.listen.jack import PERIOD_S, ScriptedGuitar
from tests.listen.sending import sent
from tests.ui.app_fakes import app, services, shows, until, written
from trainer.files import paths
from trainer.files.guitars import Guitar
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Texture, Timing
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.board.marks import Sign
from trainer.ui.board.widget import Board
from trainer.ui.drilling.ears import MISSING_AFTER_S
from trainer.ui.services import Services

SHAPES = (AM, C, D7, G)
RING = len(SHAPES)
NAME = "Demo guitar"
PORT = f"{NAME}:strings"
EVERY_S = 0.3
APART_S = 0.003
LET_GO_S = 0.05
"""How long before the next shape the hand lets go."""
NEAR_MS = 5
"""How near to what was played most changes are timed."""
FAR_MS = 1000 * EVERY_S / 3
"""What a JACK without real time may add or leave out on a busy machine: no shape is taken for another."""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as log:
        yield log


def known(log: Log) -> Services:
    """Return services that know the guitar: a channel for each string, nothing to take off."""
    given = services(log, bell=False)
    given.guitars[PORT] = Guitar(
        Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0)), measured=date(2026, 3, 14)
    )
    return given


class Struck(NamedTuple):
    """A shape that was played: when the last string of it was really sent, and when the first one was let go."""

    landed: float
    left: float


def strummed(shapes: Sequence[str], without: Sequence[int] = ()) -> list[tuple[float, bytes]]:
    """Return the messages of shapes struck one after another."""
    playing = Playing()
    for number, shape in enumerate(shapes):
        at = number * EVERY_S
        playing.shape(at, shape, off=at + EVERY_S - LET_GO_S, apart=APART_S, without=without if number else ())
    return sent(playing.events)


def attempts(log: Log) -> list[Attempt]:
    with written(log) as history:
        return [attempt for run in history.runs() for attempt in history.of_run(run.id)]


async def strum(guitar: ScriptedGuitar, *shapes: str, without: Sequence[int] = ()) -> list[Struck]:
    """Have shapes struck without keeping the app waiting; return how each was really played."""
    messages = strummed(shapes, without)
    times = await asyncio.to_thread(guitar.play, messages)
    ons: dict[int, float] = {}
    offs: dict[int, float] = {}
    for (at, data), when in zip(messages, times, strict=True):
        number = int(at / EVERY_S + 1e-6)
        if data[0] & 0xF0 == 0x90:
            ons[number] = when
        else:
            offs.setdefault(number, when)
    return [Struck(ons[number], offs[number]) for number in range(len(shapes))]


def took_ms(before: Struck, after: Struck) -> float:
    """Return how long a change really took, from the first string let go to the last one struck."""
    return 1000 * (after.landed - before.left)


async def test_a_whole_drill_is_found_and_logged_with_times_near_the_sends(log: Log, jack: str) -> None:
    given = known(log)
    wall = given.to_wall(0.0)
    with ScriptedGuitar(NAME) as guitar:
        async with app(given, "drill", drill=from_shapes(SHAPES), mode=Mode.HEARD).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, NAME))
            struck = await strum(guitar, *SHAPES * 2, SHAPES[0])
            await until(pilot, lambda: shows(pilot, "run over"))
    logged = attempts(log)
    assert len(logged) == 2 * RING
    assert {attempt.timing for attempt in logged} == {Timing.HEARD}
    assert {attempt.source for attempt in logged} == {PORT}
    late = sorted(attempt.at - wall - one.landed for attempt, one in zip(logged, struck[1:], strict=True))
    # A period at most until the server passes it on, and what this machine adds under load.
    assert abs(median(late)) < PERIOD_S + 0.003
    assert max(map(abs, late)) < FAR_MS / 1000
    assert all(attempt.measures is not None for attempt in logged)
    off = [
        abs((attempt.change_ms or 0.0) - took_ms(*two)) for attempt, two in zip(logged, pairwise(struck), strict=True)
    ]
    assert median(off) < NEAR_MS
    assert max(off) < FAR_MS
    assert [attempt.clean for attempt in logged[:-1]] == [True] * (2 * RING - 1)


async def test_strings_light_as_they_are_heard_and_what_is_missing_is_shown_where_it_is(log: Log, jack: str) -> None:
    with ScriptedGuitar(NAME) as guitar:
        screen = app(known(log), "drill", drill=from_shapes(SHAPES), mode=Mode.HEARD)
        async with screen.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, NAME))
            board = pilot.app.screen.query_one("#board", Board)
            await strum(guitar, AM)
            await until(pilot, lambda: set(board.lights) == {1, 2, 3, 4, 5})
            assert set(board.lights.values()) == {Sign.HEARD}
            await strum(guitar, AM, C, without=(3,))
            await until(pilot, lambda: board.lights.get(3) is Sign.MISSING)
            await until(pilot, lambda: shows(pilot, "String 3 was not heard"))
            assert attempts(log) == []


async def test_no_string_of_a_figure_is_missed_before_its_beat(log: Log, jack: str) -> None:
    strokes = {1: [5], 2: [4], 3: [3], 4: [2, 1]}
    figure = drill(*(step(shape, strokes=strokes, texture=Texture.FIGURE) for shape in (AM, C)))
    with ScriptedGuitar(NAME) as guitar:
        async with app(known(log), "drill", drill=figure, mode=Mode.HEARD).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, NAME))
            board = pilot.app.screen.query_one("#board", Board)
            await asyncio.to_thread(guitar.play, strummed([AM])[:1])
            await until(pilot, lambda: board.lights.get(5) is Sign.HEARD)
            await pilot.pause(2 * MISSING_AFTER_S)
            assert set(board.lights.values()) == {Sign.HEARD}


async def test_a_guitar_that_is_lost_is_told_of_and_heard_again_by_itself(log: Log, jack: str) -> None:
    given = known(log)
    with ScriptedGuitar(NAME) as guitar:
        async with app(given, "drill", drill=from_shapes(SHAPES), mode=Mode.HEARD).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, NAME))
            await strum(guitar, AM, C)
            await until(pilot, lambda: len(attempts(log)) == 1)
            # Half of the next shape, and the cable is pulled: no change.
            await asyncio.to_thread(guitar.play, strummed([D7])[:2])
            gone = given.clock()
            guitar.close()
            await until(pilot, lambda: shows(pilot, "lost") or shows(pilot, "gone"))
            assert given.clock() - gone < 2
            guitar.open()
            await until(pilot, lambda: not shows(pilot, "lost") and not shows(pilot, "gone"))
            struck = await strum(guitar, C, D7)
            await until(pilot, lambda: len(attempts(log)) == 2)
    first, second = attempts(log)
    assert first.change_ms is not None
    assert second.change_ms == pytest.approx(took_ms(*struck), abs=FAR_MS)


async def test_keys_work_beside_the_guitar_and_quitting_in_the_middle_leaves_whole_entries(log: Log, jack: str) -> None:
    with ScriptedGuitar(NAME) as guitar:
        screen = app(known(log), "drill", drill=from_shapes(SHAPES), mode=Mode.HEARD)
        async with screen.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, NAME))
            await strum(guitar, AM, C)
            await until(pilot, lambda: shows(pilot, "change 2 of 8"))
            await pilot.press("n")
            await until(pilot, lambda: shows(pilot, "change 3 of 8"))
            await strum(guitar, D7, G)
            await until(pilot, lambda: shows(pilot, "change 4 of 8"))
            await pilot.press("u")
            await asyncio.to_thread(guitar.play, strummed([AM])[:2])
            await pilot.press("q")
    assert [attempt.clean for attempt in attempts(log)][-1] is False
    assert len(attempts(log)) == 2
