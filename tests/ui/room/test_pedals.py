"""MIDI pedals before a class: what was set up for a drill leads the room, too."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from tests.ui.app_fakes import app, services, shows, until
from tests.ui.room.scenes import Chair, to_its_last_beat
from trainer.files import paths
from trainer.listen.decoder import Call
from trainer.listen.setup.pedalling import CALLS
from trainer.log.writer import Log
from trainer.practice.quick import from_shapes
from trainer.practice.room import Phase
from trainer.practice.rounds import Round
from trainer.ui.command import Place
from trainer.ui.commands import IDS, commands_of
from trainer.ui.room.desk import Group
from trainer.ui.screens.pedals import MEANS
from trainer.ui.screens.room import RoomScreen


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


def test_every_pedal_means_a_command_there_is() -> None:
    drill = {command.id for command in commands_of(Place.DRILL)}
    assert set(CALLS) <= drill & IDS
    for place, meant in MEANS.items():
        assert set(meant) <= set(CALLS)
        assert set(meant.values()) <= {command.id for command in commands_of(place) if not command.fixed}


def test_all_that_a_teacher_does_while_a_class_plays_has_a_pedal() -> None:
    named = {"room_show", "room_mirror"}  # to be set up by their own names, as any command may be
    room = {command.id for command in commands_of(Place.ROOM) if command.place is Place.ROOM}
    assert set(MEANS[Place.ROOM].values()) == room - named


async def test_a_pedal_leads_the_room_and_the_marking(log: Log) -> None:
    kept: list[Round] = []

    def keep(_: object, done: Round, __: float) -> str:
        kept.append(done)
        return ""

    given = {"drill": from_shapes(["Am", "C", "F"]), "tempo": 240.0, "group": Group("A", (Chair("a", 1),), keep)}
    async with app(services(log, click="none"), "room", **given).run_test(size=(120, 40)) as pilot:
        room = pilot.app.screen
        assert isinstance(room, RoomScreen)

        def tread(called: str) -> None:
            room._pedal(Call(0.0, called))

        for called, said in (
            ("next", "change 2 of 3"),
            ("previous", "change 1 of 3"),
            ("slower", "235 a minute"),
            ("faster", "240 a minute"),
            ("memory", "from memory"),
            ("memory", "h hide"),
            ("course", "whole drill"),
            ("course", "change 1 of 3"),
            ("room_mirror", "l one hand"),
            ("unclean", "change 1 of 3"),  # nothing here
        ):
            tread(called)
            await until(pilot, partial(shows, pilot, said))
        for called, rounds in (("undo", 0), ("press", 1)):
            tread("press")
            to_its_last_beat(room.desk)
            await until(pilot, lambda: shows(pilot, "a key marks who missed"))
            tread(called)
            await until(pilot, lambda: pilot.app.screen is room)
            assert len(kept) == rounds
        tread("again")
        tread("pause")
        assert room.desk.room.phase is Phase.FROZEN
