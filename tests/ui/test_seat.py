"""Played from a seat in a browser: what belongs to the machine that serves is not reached from there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ui.app_fakes import app, services
from trainer.errors import ChangeoverError
from trainer.files import paths
from trainer.log.writer import Log
from trainer.ui.seat import ELSEWHERE, SEAT, NoPorts, no_device
from trainer.ui.services import open_services


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


@pytest.mark.parametrize(("key", "screen"), [("i", "scores"), ("g", "guitar")])
async def test_neither_files_nor_ports_of_the_server(log: Log, key: str, screen: str) -> None:
    given = services(log)
    given.seat = "Seat 3"
    made = app(given)
    async with made.run_test(size=(80, 24)) as pilot:
        home = made.screen
        await pilot.press(key)
        await pilot.pause()
        assert made.screen is home
        assert [note.message for note in made._notifications] == [ELSEWHERE[screen]]


def test_a_seat_is_told_by_its_variable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    assert open_services().seat is None
    monkeypatch.setenv(SEAT, "Seat\x1b[31m 3")
    given = open_services()
    assert given.seat is not None
    assert "\x1b" not in given.seat
    assert given.listen is NoPorts
    assert given.opening is no_device
    with pytest.raises(ChangeoverError):
        no_device()
