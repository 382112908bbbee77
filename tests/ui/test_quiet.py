"""What the drill screen says besides: once, between changes, never inside one, and gone by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from textwrap import wrap

import pytest

from tests.ui.app_fakes import app, running_text, services, shows, until
from tests.ui.drilling_fakes import HandClock, HandLog, Stage, stage
from trainer.files import kept, paths
from trainer.files.library import find
from trainer.files.settings import Settings
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.drill import Drill
from trainer.practice.phases import Mode, Phase
from trainer.practice.playing import Playing
from trainer.practice.quick import from_shapes
from trainer.practice.warmup import CAUTION
from trainer.ui.drilling.quiet import BREAK_S, EASIER_S, GLANCE_S, LOOK_AFTER_S, Quiet
from trainer.ui.drilling.view import View, view
from trainer.ui.services import Services

HINT = "Easier from A to Am: A as x 0 2/2 2/3 2/4 0 (f compares)."
NEARLY = Playing(seconds=25 * 60 - 1.0)
"""A second before the first break is due."""


@pytest.fixture
def given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Services:
    """A player's services on a clock turned by hand."""
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    return Services(Settings(), tmp_path / "settings.toml", tmp_path / "log.db")


def seated(
    given: Services, mode: Mode = Mode.PRESSES, drill: Drill | None = None, clock: HandClock | None = None
) -> Stage:
    """Return a conductor with a quiet line, as behind a drill screen that has just been opened."""
    drill = drill or from_shapes(["A", "Am"])
    clock = clock or HandClock()
    given.clock = lambda: clock.now
    on = stage(given.log_path, mode, drill=drill, clock=clock, log=HandLog(given.log_path), tempo=60)
    shown = on.conductor._ports.show
    quiet = Quiet(given, drill, on.conductor.logbook.passings, clock, shown, lambda: on.conductor.session)
    on.conductor.quiet = quiet
    quiet.start()
    return on


def line(on: Stage) -> str:
    assert on.conductor.quiet is not None
    return on.conductor.quiet.text


def seen(on: Stage) -> View:
    return view(on.conductor, "all of it")


class TestEasier:
    def test_it_is_worked_out_after_the_drill_has_opened_and_then_said(self, given: Services) -> None:
        on = seated(given)
        assert line(on) == ""
        on.clock.turn(LOOK_AFTER_S / 2)
        assert line(on) == ""
        on.clock.turn(LOOK_AFTER_S)
        assert line(on) == HINT
        assert seen(on).message == HINT
        assert not seen(on).warn

    def test_it_goes_by_itself_and_is_not_said_again_in_the_sitting(self, given: Services) -> None:
        on = seated(given)
        on.clock.turn(LOOK_AFTER_S + EASIER_S + 0.1)
        assert line(on) == ""
        assert on.shows[-1] == on.conductor.shown
        for _ in range(4):
            on.press()
            assert line(on) == ""
        again = seated(given, clock=on.clock)
        again.clock.turn(LOOK_AFTER_S + 1)
        assert line(again) == ""

    def test_it_is_out_of_sight_while_a_change_is_in_flight(self, given: Services) -> None:
        on = seated(given)
        on.clock.turn(LOOK_AFTER_S)
        on.press()
        assert on.conductor.session.phase is Phase.CHANGING
        assert line(on) == ""
        on.press()
        assert line(on) == HINT
        on.clock.turn(EASIER_S)
        assert line(on) == ""

    def test_left_at_a_glance_it_comes_again(self, given: Services) -> None:
        for rest, text in ((GLANCE_S / 2, HINT), (GLANCE_S, "")):
            on = seated(given)
            on.clock.turn(LOOK_AFTER_S + rest)
            assert on.conductor.quiet is not None
            on.conductor.quiet.close()
            assert line(on) == ""
            again = seated(given, clock=on.clock)
            again.clock.turn(LOOK_AFTER_S)
            assert line(again) == text

    def test_only_of_the_change_at_hand_until_the_run_is_over(self, given: Services) -> None:
        on = seated(given, Mode.PACED, from_shapes(["C", "A", "Am"]))
        on.clock.turn(LOOK_AFTER_S)
        assert seen(on).said.press == "start"
        assert line(on) == ""
        on.press()
        while on.conductor.session.phase is not Phase.ASK:
            on.clock.turn(1)
            assert line(on) == ""
        on.conductor.send(events.Said(on.clock.now, 1))
        assert line(on).startswith("Easier from A to Am: ")
        assert seen(on).message.startswith(on.conductor.session.message)

    def test_nothing_is_worked_out_while_something_is_timed(self, given: Services) -> None:
        worked: list[str] = []
        on = seated(given)
        on.clock.aside = lambda work, then: worked.append("once")  # type: ignore[method-assign]  # nothing runs
        on.press(LOOK_AFTER_S / 2)
        on.clock.turn(3.5 * LOOK_AFTER_S)
        assert worked == []
        on.press(0)
        on.clock.turn(LOOK_AFTER_S)
        assert worked == ["once"]

    def test_it_names_the_key_that_compares_fingerings_where_there_is_one(self, given: Services) -> None:
        for keys, told in (("f5",), " (F5 compares)."), ((), "."):
            given.settings = replace(given.settings, keys={"bench": keys})
            given.told.clear()
            on = seated(given)
            on.clock.turn(LOOK_AFTER_S)
            assert line(on) == HINT.replace(" (f compares).", told)

    def test_not_where_it_is_set_off_nor_where_shapes_are_asked_from_memory(self, given: Services) -> None:
        given.settings = replace(given.settings, easier=False)
        on = seated(given)
        on.clock.turn(LOOK_AFTER_S + 1)
        assert line(on) == ""
        given.settings = replace(given.settings, easier=True)
        by_heart = seated(given)
        assert by_heart.conductor.quiet is not None
        by_heart.conductor.quiet._blind = lambda: True
        by_heart.clock.turn(LOOK_AFTER_S + 1)
        assert line(by_heart) == ""


class TestBreak:
    def test_it_comes_between_changes_and_goes_by_itself(self, given: Services) -> None:
        given.playing, given.settings = NEARLY, replace(given.settings, easier=False)
        on = seated(given)
        on.press()
        on.press()
        assert on.conductor.session.phase is Phase.HOLD
        assert line(on).startswith("25 minutes of playing")
        on.clock.turn(BREAK_S)
        assert line(on) == ""
        on.press()
        on.press()
        assert line(on) == ""

    def test_it_waits_for_the_run_to_the_beat_to_be_over(self, given: Services) -> None:
        given.playing, given.settings = NEARLY, replace(given.settings, easier=False)
        on = seated(given, Mode.PACED)
        on.press()
        while on.conductor.session.phase is not Phase.ASK:
            on.clock.turn(1)
            assert line(on) == ""
        assert given.playing.due
        on.conductor.send(events.Said(on.clock.now, 1))
        assert line(on).startswith("25 minutes of playing")

    def test_it_survives_leaving_the_screen(self, given: Services) -> None:
        given.playing = Playing(seconds=25 * 60 + 1.0)
        on = seated(given)
        assert line(on).startswith("25 minutes of playing")
        assert on.conductor.quiet is not None
        on.conductor.quiet.close()
        again = seated(given, clock=on.clock)
        assert line(again).startswith("25 minutes of playing")
        again.clock.turn(BREAK_S)
        assert line(seated(given, clock=on.clock)) == ""


class TestCaution:
    def test_before_the_first_stretch_and_no_more_once_something_was_played(self, given: Services) -> None:
        on = seated(given, drill=find("stretch"))
        assert (seen(on).message, seen(on).warn) == (" ".join(CAUTION), True)
        on.press()
        assert CAUTION[0] not in seen(on).message
        on.press()
        assert CAUTION[0] not in seen(on).message
        found, _ = kept.load(paths.kept_file())
        assert found.caution_shown == date.today()
        assert seen(seated(given, drill=find("stretch"))).message == ""

    def test_none_where_it_was_shown_today_or_nothing_is_stretched(self, given: Services) -> None:
        assert seen(seated(given, drill=find("first-change"))).message == ""
        given.kept = replace(given.kept, caution_shown=date.today())
        assert seen(seated(given, drill=find("stretch"))).message == ""

    def test_what_is_a_stretch_depends_on_the_hand(self, given: Services) -> None:
        drill = from_shapes(["x 3/3 2/2 0 1/1 0", "x 3/4 2/2 0 1/1 0"])
        assert not seen(seated(given, drill=drill)).warn
        given.settings = replace(given.settings, comfortable_mm=(20.0, 40.0, 60.0, 20.0, 40.0, 20.0))
        assert seen(seated(given, drill=drill)).warn

    def test_the_smallest_window_has_room_for_it(self) -> None:
        assert len(wrap(" ".join(CAUTION), 58)) <= 3


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


async def test_on_the_screen_the_caution_goes_with_the_key_that_begins(log: Log) -> None:
    sitting = services(log)
    async with app(sitting, "drill", drill=find("stretch"), mode=Mode.PRESSES).run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: " ".join(CAUTION) in running_text(pilot))
        await pilot.press("space")
        await until(pilot, lambda: CAUTION[0] not in running_text(pilot))
        await until(pilot, lambda: sitting.kept.caution_shown == date.today())


async def test_on_the_screen_an_easier_fingering_is_told_from_a_thread(log: Log) -> None:
    drill = from_shapes(["A", "Am"])
    async with app(services(log), "drill", drill=drill, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, HINT))
        await pilot.press("space")
        await until(pilot, lambda: not shows(pilot, HINT))
