"""What a sitting keeps of a guitar, and when: never less than was known before a step is done again."""

from __future__ import annotations

from datetime import date
from types import MappingProxyType

import pytest

from tests.listen.setup.hands import OPEN, Sent, Tracker
from trainer.errors import wrong
from trainer.files.guitars import Guitar
from trainer.listen import wire
from trainer.listen.arrival import Arrival, Found, Lost, Trouble
from trainer.listen.setup import flow
from trainer.listen.setup.flow import Stage
from trainer.practice.wiring import Wiring, in_order, two_periods_ms
from trainer.ui.setting_up.sitting import Sitting

PORT = "Demo guitar"
CHANNELS = {6: 11, 5: 12, 4: 13, 3: 14, 2: 15, 1: 16}
MEASURED = Guitar(
    Wiring(
        strings=in_order(11, descending=True),
        latency_ms={string: 2 * ms for string, ms in two_periods_ms(OPEN).items()},
        levels=dict.fromkeys(OPEN, 1.0),
    ),
    MappingProxyType(dict.fromkeys(OPEN, 2.0)),
    date(2026, 3, 14),
    player="window seat",
)
TODAY = date(2026, 5, 1)


class Shelf:
    """Guitars in memory, and every time one was kept."""

    def __init__(self, known: Guitar | None = None) -> None:
        self.guitars = {} if known is None else {PORT: known}
        self.kept: list[Guitar] = []

    def known(self, port: str) -> Guitar:
        return self.guitars.get(port, Guitar())

    def keep(self, port: str, guitar: Guitar) -> None:
        self.guitars[port] = guitar
        self.kept.append(guitar)


def sitting(shelf: Shelf) -> Sitting:
    found = Sitting(shelf.known, shelf.keep, lambda: TODAY, {})
    found.take(Found(PORT, 0.0, PORT))
    found.choose()
    return found


def play(at: Sitting, sent: list[Sent]) -> None:
    for moment, message in sent:
        data = bytes((message.status | message.channel - 1, message.first, message.second))
        at.take(Arrival(PORT, moment, data))
    at.tick(sent[-1][0] + 1)


def test_looking_keeps_nothing() -> None:
    shelf = Shelf(MEASURED)
    at = sitting(shelf)
    for by in (-1, -1, -1, 1, 1, 1):
        at.change(lambda setup, by=by: flow.move(setup, by))  # type: ignore[misc]  # bound at once
    assert at.setup is not None
    assert at.setup.margin_ms == MEASURED.spread_ms
    assert shelf.kept == []


@pytest.mark.parametrize("stage", [Stage.STRINGS, Stage.LEVELS, Stage.LATENCY])
def test_a_step_begun_again_costs_nothing_until_it_is_done(stage: Stage) -> None:
    shelf = Shelf(MEASURED)
    at = sitting(shelf)
    at.change(lambda setup: flow.move(setup, -flow.STAGES.index(Stage.PEDALS) + flow.STAGES.index(stage)))
    at.change(flow.again)
    assert shelf.known(PORT) == MEASURED


def test_strings_learned_anew_are_two_periods_late_again_and_whose_they_are_stays() -> None:
    shelf = Shelf(MEASURED)
    at = sitting(shelf)
    at.change(lambda setup: flow.again(flow.move(setup, -3)))
    play(at, Tracker(CHANNELS).plucks((6, 5, 4, 3, 2, 1, 6)))
    guitar = shelf.known(PORT)
    assert (guitar.measured, dict(guitar.spread_ms), dict(guitar.wiring.levels)) == (None, {}, {})
    assert guitar.calibration.startswith("two periods (6:24.3")
    assert guitar.player == "window seat"


def test_what_cannot_be_kept_is_told_and_heard_all_the_same() -> None:
    def full(port: str, guitar: Guitar) -> None:
        raise wrong("cannot be written: the disk is full", file="guitars.toml")

    at = Sitting(Shelf().known, full, lambda: TODAY, {})
    at.take(Found(PORT, 0.0, PORT))
    at.choose()
    play(at, Tracker(CHANNELS).plucks((6, 5, 4, 3, 2, 1, 6)))
    assert "the disk is full" in at.trouble
    assert at.setup is not None
    assert at.setup.wiring.strings == in_order(11, descending=True)


def test_messages_cut_in_pieces_and_running_status_are_heard() -> None:
    # MIDI 1.0: the status byte may be left out where it is the same as before.
    at = sitting(Shelf())
    for moment, data in (
        (1.0, b"\x9a\x28"),
        (1.0, b"\x50"),
        (1.4, b"\x28\x00"),
        (1.6, b"\xfe"),
        (2.0, b"\x9b\x2d\x50"),
    ):
        at.take(Arrival(PORT, moment, data))
    at.tick(3.0)
    assert at.setup is not None
    assert {string: one.channel for string, one in at.setup.learning.found.items()} == {6: 11, 5: 12}


def test_trouble_of_one_port_is_told_by_its_name_and_a_port_that_comes_takes_it_back() -> None:
    at = sitting(Shelf())
    at.take(Trouble("Second", 1.0, "cannot be opened: busy"))
    assert at.trouble == "Second: cannot be opened: busy"
    at.take(Found("Second", 2.0, "Second"))
    at.take(Lost(PORT, 3.0))
    assert at.trouble == ""
    assert at.ports == ("Second",)


def test_a_note_too_soft_to_be_struck_chooses_no_port() -> None:
    at = Sitting(Shelf().known, Shelf().keep, lambda: TODAY, {})
    at.take(Found(PORT, 0.0, PORT))
    at.take(Arrival(PORT, 1.0, bytes((wire.NOTE_ON, 40, 3))))
    assert at.chosen is None
