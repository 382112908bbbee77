"""Rounds of a class with real ports: guitars in a process of their own play through JACK into the running app.

JACK's dummy driver, 64 frames at 48 kHz. A pedal leads the room, no key is pressed but to find a guitar.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.listen.building import AM, C, Playing
from tests.listen.jack import ScriptedGuitar
from tests.listen.sending import sent
from tests.ui.app_fakes import app, running_text, services, shows, until
from tests.ui.room.scenes import Chair
from trainer.files import paths
from trainer.files.guitars import Guitar
from trainer.log.writer import Log
from trainer.practice.drill import Drill
from trainer.practice.quick import from_shapes
from trainer.practice.rounds import Mark, Round
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.room.desk import Desk, Group
from trainer.ui.screens.room import RoomScreen

NAME = "Class guitar"
PORTS = tuple(f"{NAME}:strings{number}" for number in ("", " #2", " #3"))
TEMPO = 120.0
LATE_S = 0.4
"""More than half a beat: that is not on the count."""
NEAR_MS = 100
"""What a busy machine may add to when a note is sent."""
PEDAL = bytes((0xBF, 64, 127)), bytes((0xBF, 64, 0))


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


class Lesson:
    """A class of three; the third guitar's seat is not known yet."""

    def __init__(self, pilot: Pilot[None], guitars: ScriptedGuitar) -> None:
        screen = pilot.app.screen
        assert isinstance(screen, RoomScreen)
        self.pilot, self.guitars, self.desk = pilot, guitars, screen.desk

    async def tread(self, pedals: ScriptedGuitar) -> None:
        await asyncio.to_thread(pedals.play, [(0.0, PEDAL[0]), (0.05, PEDAL[1])])

    async def play(self, pedals: ScriptedGuitar, late_s: dict[int, float], pulled: int | None = None) -> None:
        """Play a round from the pedal on: each guitar changes so many seconds late, one loses its cable at the end."""
        before = self.desk._began
        await self.tread(pedals)
        await until(self.pilot, lambda: self.desk._began > before)
        notes = []
        shape_s = 4 * 60 / self.desk.aim.tempo
        for port, late in late_s.items():
            over = 2 * shape_s + late
            playing = Playing().shape(shape_s, AM, off=over - 0.05).shape(over, C, off=over + 0.5)
            notes += [(at, port, data) for at, data in sent(playing.events)]
        self.guitars.start(sorted(notes, key=lambda note: note[0]), self.desk._began)
        await asyncio.to_thread(self.guitars.wait)
        if pulled is not None:
            self.guitars.close(pulled)
        await until(self.pilot, lambda: shows(self.pilot, "a key marks who missed"))


async def test_a_lesson_of_three_guitars_and_a_pedal(log: Log, jack: str) -> None:
    given = services(log, bell=False, click="none")
    wiring = Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0), calls={})
    given.guitars.update({port: Guitar(wiring) for port in PORTS})
    kept: list[Round] = []
    bound: list[tuple[str, str]] = []

    def keep(_: Drill, done: Round, __: float) -> str:
        kept.append(done)
        return ""

    def bind(seat: str, port: str) -> str:
        bound.append((seat, port))
        return ""

    chairs = (Chair("s1", 1, port=PORTS[0]), Chair("s2", 2, port=PORTS[1]), Chair("s3", 3))
    group = Group("Mondays", chairs, keep, bind)
    room = {"drill": from_shapes([AM, C]), "tempo": TEMPO, "group": group}
    with ScriptedGuitar(NAME, ports=3) as guitars, ScriptedGuitar("Pedals") as pedals:
        async with app(given, "room", **room).run_test(size=(120, 40)) as pilot:
            await until(pilot, lambda: "guitars: 2" in running_text(pilot))
            lesson = Lesson(pilot, guitars)
            await lesson.play(pedals, {0: 0.0, 1: LATE_S})
            # Told at once: who landed, late by how much; the seat without a guitar is had by default.
            await until(pilot, lambda: shows(pilot, "2 of 3 had it", "ms late"))
            first, second = heard_ms(lesson.desk)
            assert abs(first) < NEAR_MS
            assert abs(second - 1000 * LATE_S) < NEAR_MS
            # The third guitar is found by playing it.
            await pilot.press("f3", "3")
            await until(pilot, lambda: shows(pilot, "seat 3: play a string"))
            await asyncio.to_thread(guitars.play, [(0.0, bytes((0x92, 60, 90))), (0.1, bytes((0x82, 60, 0)))], 2)
            await until(pilot, lambda: shows(pilot, f"seat 3 plays on {PORTS[2]}"))
            assert bound == [("s3", PORTS[2])]
            await lesson.tread(pedals)
            await until(pilot, lambda: shows(pilot, "2 of 3 had it at 120.", "Next: 112, slower."))
            assert [one.mark for one in kept[0].results] == [Mark.HAD, Mark.MISSED, Mark.HAD]
            # One cable is pulled in the middle: that seat alone is left to the hand, its guitar is taken again later.
            await lesson.play(pedals, {0: 0.0, 1: 0.0, 2: 0.0}, pulled=1)
            await until(pilot, lambda: shows(pilot, "3 of 3 had it", "had it, guitar gone"))
            assert set(lesson.desk.marking.heard) == {"s1", "s3"}
            guitars.open(1)
            await until(pilot, lambda: lesson.desk.ears.there == (3, 3))
            await pilot.press("2")
            await lesson.tread(pedals)
            await until(pilot, lambda: shows(pilot, "2 of 3 had it at 112."))
            await lesson.play(pedals, {0: 0.0, 1: 0.0, 2: 0.0})
            assert set(lesson.desk.marking.heard) == {"s1", "s2", "s3"}
    assert [one.mark for one in kept[1].results] == [Mark.HAD, Mark.MISSED, Mark.HAD]
    assert [one.heard is None for one in kept[1].results] == [False, True, False]


def heard_ms(desk: Desk) -> list[float]:
    """Return how late each seat was that was heard, by seat."""
    return [one.late_ms for _, one in sorted(desk.marking.heard.items()) if one.late_ms is not None]
