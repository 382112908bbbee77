"""Everything is reached by keys, and a whole drill, at home and before a class, by one key alone."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import Input

from tests.ui.app_fakes import app, rows, services, shows, until, written
from tests.ui.reach_scenes import DRILL, SCENES, Scene, over_soon, seed, seen
from trainer.files import paths
from trainer.files.settings import SETTINGS, TURNS_S
from trainer.listen.decoder import Call as PedalCall
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.ui import turns
from trainer.ui.commands import commands_of, keymap
from trainer.ui.screens import pedals
from trainer.ui.screens.base import CommandScreen


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))
    with Log.open(paths.log_file()) as opened:
        seed(opened)
        yield opened


# By keys.


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
async def test_whatever_takes_a_click_is_reached_by_a_key(scene: Scene, log: Log) -> None:
    async with seen(scene, log) as pilot:
        screen = pilot.app.screen
        assert isinstance(screen, CommandScreen)
        # Every command has a method and a key, so that a widget that is clicked has a command that does the same.
        for command in commands_of(screen.place):
            assert hasattr(screen, f"do_{command.id}") or command.id in DONE_ELSEWHERE, command.id
            assert any(keymap(screen.place, {}).get(key) == command for key in command.keys), command.id
        clicked = {type(one) for one in screen.query(Widget) if "on_click" in vars(type(one)) and one.display}
        assert {one.__name__ for one in clicked} <= set(CLICKED)
        for one in clicked:
            assert {command.id for command in commands_of(screen.place)} & CLICKED[one.__name__], one
        assert all(one.has_focus for one in screen.query(Widget) if one.focusable and one.is_on_screen), (
            "no key leads to a focus elsewhere"
        )


DONE_ELSEWHERE = frozenset(
    {"press", "leave", "land", "unclean", "undo", "miss", "next", "previous", "again", "restart", "slower", "faster"}
)
"""Commands of a drill that are events of practice: `drilling.asked.EVENTS`."""
CLICKED = {
    "KeyBar": {"help"},
    "Choices": {"up", "guitar_up"},
    "Shapes": {"bench_next"},
    "Ways": {"bench_down"},
    "Rows": {"line_up", "score_up", "setting_up"},
}
"""Widgets that take a click, and of the commands that do the same on their screens one each."""


# By one key.


class OneKey:
    """A player with one key, or a MIDI pedal where the key is empty; the test waits for them."""

    def __init__(self) -> None:
        self.pilot: Pilot[None]
        self.key = ""
        self.due: Callable[[], None] | None = None

    def begin(self, pilot: Pilot[None], key: str) -> None:
        self.pilot, self.key = pilot, key

    def later(self, _: float, then: Callable[[], None]) -> Callable[[], None]:
        self.due = then

        def cancel() -> None:
            if self.due is then:
                self.due = None

        return cancel

    async def wait(self) -> None:
        """Wait until the next thing has its turn, or a rest is over."""
        await self.pilot.pause()
        assert self.due is not None, "\n".join(rows(self.pilot))
        then, self.due = self.due, None
        then()
        await self.pilot.pause()

    async def press(self) -> None:
        if self.key:
            await self.pilot.press(self.key)
        else:
            pedals.call(self.pilot.app.screen, PedalCall(time.monotonic(), "press"))
        await self.pilot.pause()

    async def take(self, label: str) -> None:
        """Wait until `label` has its turn, and press."""
        for _ in range(120):
            await self.wait()
            if shows(self.pilot, f"press now: [ {label} ]"):
                await self.press()
                return
        raise AssertionError(f"'{label}' never had its turn:\n" + "\n".join(rows(self.pilot)))


@pytest.fixture
def player(monkeypatch: pytest.MonkeyPatch) -> OneKey:
    """Return a player whose turns are the test's: no turn begins too late to be meant, no press is a held one."""
    found = OneKey()
    monkeypatch.setattr(CommandScreen, "later", lambda _, delay, then: found.later(delay, then))
    monkeypatch.setattr(turns, "_REACTION_S", 0.0)
    monkeypatch.setattr(turns, "_HELD_S", 0.0)
    return found


@pytest.mark.parametrize("key", ["space", "enter", "pagedown"])
async def test_a_whole_drill_from_home_and_back_by_one_key(key: str, log: Log, player: OneKey) -> None:
    async with app(services(log, one_switch="steady", mode=Mode.PRESSES)).run_test(size=(80, 24)) as pilot:
        player.begin(pilot, key)
        await until(pilot, lambda: shows(pilot, "starts"))
        await player.take("down")
        await player.take("start")
        await until(pilot, lambda: shows(pilot, "change 1 of"))
        await player.take("way")
        while not shows(pilot, "two presses"):
            await player.take("way")
        await player.take("restart")
        before = attempts(log)
        for _ in range(2):
            await player.press()  # the hand leaves
            await until(pilot, lambda: shows(pilot, "changing"))
            await player.press()  # it has landed
            await until(pilot, lambda: shows(pilot, "HOLD") or not shows(pilot, "changing"))
        assert attempts(log) == before + 2
        await player.take("undo")
        await player.take("next")
        await player.take("back")
        await until(pilot, lambda: shows(pilot, "starts"))
        await player.take("quit")
        assert pilot.app._exit


async def test_what_the_one_key_means_by_itself_needs_no_turn_and_none_is_had_in_mid_change(
    log: Log, player: OneKey
) -> None:
    given = {"drill": DRILL, "mode": Mode.PRESSES}
    async with app(services(log, one_switch="steady"), "drill", **given).run_test(size=(80, 24)) as pilot:
        player.begin(pilot, "space")
        await player.press()
        await until(pilot, lambda: shows(pilot, "changing"))
        for _ in range(5):
            await player.wait()
            assert not shows(pilot, "press now")
        await player.press()
        await until(pilot, lambda: shows(pilot, "change 2 of"))
        await player.wait()
        await until(pilot, lambda: shows(pilot, "press now: [ leave ]", "The one key or pedal of a run"))
        assert not shows(pilot, "when your fingers leave"), "what it would mean at other times is not said"
        await player.press()
        await until(pilot, lambda: shows(pilot, "changing", "when F is down"))


async def test_the_program_ends_in_the_middle_of_a_turn(log: Log, player: OneKey) -> None:
    async with app(services(log, one_switch="quick")).run_test(size=(80, 24)) as pilot:
        player.begin(pilot, "space")
        await player.wait()
        await until(pilot, lambda: shows(pilot, "press now: [ start ]"))
        await pilot.press("ctrl+c")
        assert pilot.app._exit


async def test_a_round_before_a_class_played_marked_and_left_by_one_pedal(log: Log, player: OneKey) -> None:
    scene = next(scene for scene in SCENES if scene.name == "marks")
    async with seen(
        replace(scene, keys=("space",), plays="", shows="had it"), log, settings={"one_switch": "quick"}
    ) as pilot:
        player.begin(pilot, "")
        await player.take("mark 3")
        await until(pilot, lambda: shows(pilot, "5 of 6 had it"))
        await player.take("done")
        await until(pilot, lambda: shows(pilot, "5 of 6 had it at 240"))
        await player.take("next")
        await until(pilot, lambda: shows(pilot, "change 2 of"))
        await player.press()
        await until(pilot, lambda: not shows(pilot, "n next"))
        await player.wait()
        assert not shows(pilot, "press now")
        await over_soon(pilot)
        await until(pilot, lambda: shows(pilot, "6 of 6 had it"))
        await player.press()
        await until(pilot, lambda: shows(pilot, "6 of 6 had it at 240"))
        await player.take("quit")
        assert pilot.app._exit


async def test_the_one_key_finds_its_way_through_the_other_screens(log: Log, player: OneKey) -> None:
    async with app(services(log, one_switch="slow")).run_test(size=(80, 24)) as pilot:
        player.begin(pilot, "space")
        for label, there in (
            ("drills", "trains: anything"), ("new", "Both shapes are the same"), ("warm-up", "begins"),
            ("progress", "best"), ("settings", "The colours of the screen"), ("help", "Keys: home"),
        ):  # fmt: skip
            await until(pilot, lambda: shows(pilot, "starts"))
            await player.take(label)
            await until(pilot, partial(shows, pilot, there))
            await player.take("back")
        await until(pilot, lambda: shows(pilot, "starts"))
        await player.take("settings")
        for _ in SETTINGS:
            if shows(pilot, "►one key only"):
                break
            await player.take("down")
        await player.take("value before")
        await until(pilot, lambda: shows(pilot, "one key only       steady"))


async def test_without_the_setting_nothing_takes_turns_and_lines_are_typed_in(log: Log, player: OneKey) -> None:
    for one_switch in TURNS_S:
        async with app(services(log, one_switch=one_switch), "library").run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: shows(pilot, "27 of 27"))
            assert pilot.app.screen.query_one(Input).has_focus is (one_switch == "off")
            assert (player.due is None) is (one_switch == "off")


def attempts(log: Log) -> int:
    with written(log) as history:
        return sum(summary.count for summary in history.summaries())
