"""The room on the screen: one key or pedal each, rounds marked by a key a seat, nothing lost in the middle."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from functools import partial

import pytest
from textual.pilot import Pilot
from textual.strip import Strip

from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from tests.ui.room.scenes import Chair, to_its_last_beat
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice.drill import Drill
from trainer.practice.quick import from_shapes
from trainer.practice.room import Phase
from trainer.practice.rounds import Mark, Round
from trainer.ui.command import SEAT_KEYS, Place
from trainer.ui.commands import commands_of, keymap
from trainer.ui.room.desk import Group
from trainer.ui.screens.room import RoomScreen
from trainer.ui.widgets.keybar import entries, fitting

FAST = 240.0
"""Three bars of four beats in three seconds."""


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


class Book:
    """Keeps rounds in a list."""

    def __init__(self) -> None:
        self.kept: list[Round] = []

    def keep(self, _: Drill, done: Round, __: float) -> str:
        self.kept.append(done)
        return ""

    def group(self, seats: int) -> Group:
        return Group("Mondays", tuple(Chair(f"s{number}", number) for number in range(1, seats + 1)), self.keep)


def screen(pilot: Pilot[None]) -> RoomScreen:
    found = next(one for one in pilot.app.screen_stack if isinstance(one, RoomScreen))
    assert isinstance(found, RoomScreen)
    return found


DRILL = from_shapes(["Am", "C", "F"])


async def play_short(pilot: Pilot[None], key: str = "space") -> None:
    """Begin a round with a key, and have it end with its next beat."""
    desk = screen(pilot).desk
    await pilot.press(key)
    await until(pilot, lambda: desk.room.phase is Phase.PLAYING)
    to_its_last_beat(desk)


async def test_every_key_does_what_the_bar_says(log: Log) -> None:
    async with app(services(log), "room", drill=DRILL, tempo=60.0).run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: shows(pilot, "change 1 of 3", "space play", "60 a minute"))
        for key, said in (
            ("n", "change 2 of 3"),
            ("b", "change 1 of 3"),
            ("pageup", "change 2 of 3"),
            ("plus", "65 a minute"),
            ("minus", "60 a minute"),
            ("h", "from memory"),
            ("h", "h hide"),
            ("m", "m movement only"),
            ("m", "m shape and movement"),
            ("m", "m shape only"),
            ("l", "l one hand"),
            ("l", "l both hands"),
            ("s", "whole drill"),
            ("s", "change 1 of 3"),
        ):
            await pilot.press(key)
            await until(pilot, partial(shows, pilot, said))


async def test_while_the_beat_goes_there_are_no_keys_to_read_and_freeze_stops_it(log: Log) -> None:
    async with app(services(log), "room", drill=DRILL, tempo=60.0).run_test(size=(120, 40)) as pilot:
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "count-in") and not shows(pilot, "n next"))
        await pilot.press("f")
        await until(pilot, lambda: shows(pilot, "frozen", "f go on"))
        desk = screen(pilot).desk
        stood = desk.room
        await pilot.press("h", "l")
        assert desk.room.moment == stood.moment
        await pilot.press("f")
        await until(pilot, lambda: desk.room.phase is Phase.PLAYING)


async def test_rounds_are_marked_by_a_key_a_seat(log: Log) -> None:
    book = Book()
    given = {"drill": DRILL, "tempo": FAST, "group": book.group(12)}
    async with app(services(log), "room", **given).run_test(size=(120, 40)) as pilot:
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "12 of 12 had it: a key marks who missed"))
        await pilot.press("3", "q", "b", "f2", "7", "5", "5")
        await until(pilot, lambda: shows(pilot, "9 of 11 had it, 1 away"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "9 of 11 had it, 1 away at 240.", "Next: 240 again."))
        assert [[result.mark for result in done.results].count(Mark.MISSED) for done in book.kept] == [2]
        # The pedal alone: play, all had it, on.
        await play_short(pilot, "pagedown")
        await until(pilot, lambda: shows(pilot, "11 of 11 had it, 1 away: a key marks who missed"))
        await pilot.press("pagedown")
        await until(pilot, lambda: len(book.kept) == 2)
        assert (book.kept[1].had, book.kept[1].asked) == (11, 11)


async def test_the_other_way_marks_who_had_it_and_the_tempo_goes_down(log: Log) -> None:
    book = Book()
    given = {"drill": DRILL, "tempo": FAST, "group": book.group(10)}
    async with app(services(log), "room", **given).run_test(size=(80, 24)) as pilot:
        await play_short(pilot)
        await until(pilot, lambda: shows(pilot, "10 of 10 had it"))
        await pilot.press("tab", "1", "2", "3", "4")
        await until(pilot, lambda: shows(pilot, "4 of 10 had it: a key marks who had it"))
        await pilot.press("enter")
        # 240 exp(0.5 (0.4 - 0.8))
        await until(pilot, lambda: shows(pilot, "Next: 196, slower."))


async def test_a_round_left_with_escape_is_not_kept(log: Log) -> None:
    book = Book()
    given = {"drill": DRILL, "tempo": FAST, "group": book.group(3)}
    async with app(services(log), "room", **given).run_test(size=(80, 24)) as pilot:
        await play_short(pilot)
        await until(pilot, lambda: shows(pilot, "3 of 3 had it"))
        await pilot.press("1", "escape")
        await until(pilot, lambda: shows(pilot, "change 1 of 3"))
        assert book.kept == []
        assert not shows(pilot, "had it")


async def test_quitting_in_the_middle_keeps_what_was_marked(log: Log) -> None:
    book = Book()
    given = {"drill": DRILL, "tempo": FAST, "group": book.group(3)}
    async with app(services(log), "room", **given).run_test(size=(80, 24)) as pilot:
        await play_short(pilot)
        await until(pilot, lambda: shows(pilot, "3 of 3 had it"))
        await pilot.press("2", "ctrl+q")
    assert [[result.mark for result in done.results] for done in book.kept] == [[Mark.HAD, Mark.MISSED, Mark.HAD]]


async def test_quitting_before_anything_was_marked_keeps_nothing(log: Log) -> None:
    book = Book()
    given = {"drill": DRILL, "tempo": FAST, "group": book.group(3)}
    async with app(services(log), "room", **given).run_test(size=(80, 24)) as pilot:
        await play_short(pilot)
        await until(pilot, lambda: shows(pilot, "3 of 3 had it"))
        await pilot.press("ctrl+q")
    assert book.kept == []


async def test_resized_it_is_drawn_for_the_new_room(log: Log) -> None:
    async with app(services(log), "room", drill=DRILL).run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: shows(pilot, "╫─────────████  ████─┼"))
        await pilot.resize_terminal(80, 24)
        await until(pilot, lambda: shows(pilot, "╫─────██ ██┼"))
        assert max(map(len, rows(pilot))) <= 80
        await pilot.resize_terminal(59, 24)
        await until(pilot, lambda: "needed: 60 x 20" in running_text(pilot))
        await pilot.resize_terminal(200, 60)
        await until(pilot, lambda: shows(pilot, "change 1 of 3", "┼") and not shows(pilot, "Too small"))


async def test_home_and_library_lead_into_it(log: Log) -> None:
    async with app(services(log)).run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: shows(pilot, "starts First change"))
        await pilot.press("r")
        await until(pilot, lambda: shows(pilot, "space play", "change 1 of"))
        await pilot.press("escape", "d")
        await until(pilot, lambda: shows(pilot, "type to search") and shows(pilot, "F5 class"))
        await pilot.press(*"hinge")
        await until(pilot, lambda: shows(pilot, "1 of 27"))
        await pilot.press("f5")
        await until(pilot, lambda: shows(pilot, "space play"))
        assert screen(pilot)._drill.title.casefold().count("hinge")


async def test_a_lesson_of_many_rounds_keeps_no_lines_of_those_before(log: Log) -> None:
    given = {"drill": DRILL, "tempo": FAST, "group": Book().group(12)}
    async with app(services(log), "room", **given).run_test(size=(120, 40)) as pilot:
        desk, room, kept = screen(pilot).desk, pilot.app.screen, []
        for _ in range(12):
            desk.again()
            to_its_last_beat(desk)
            await until(pilot, lambda: pilot.app.screen is not room)
            await until(pilot, lambda: shows(pilot, "a key marks who missed"))
            await pilot.press("enter")
            await until(pilot, lambda: pilot.app.screen is room and shows(pilot, "12 of 12 had it at"))
            gc.collect()
            kept.append(sum(type(one) is Strip for one in gc.get_objects()))
    assert (kept[-1] - kept[1]) / 10 < 10  # a screen has forty


def test_no_command_shares_a_key_with_a_seat() -> None:
    assert len(set(SEAT_KEYS)) == 40
    keys = keymap(Place.MARKS, {"mark_done": ("a", "enter")})
    assert {keys[key].id for key in SEAT_KEYS} == {"mark"}
    others = [command for command in commands_of(Place.MARKS) if command.place is Place.MARKS and command.id != "mark"]
    assert not {key for command in others for key in command.keys} & set(SEAT_KEYS)


@pytest.mark.parametrize("place", [Place.ROOM, Place.MARKS])
def test_the_ways_on_and_out_stay_in_eighty_columns(place: Place) -> None:
    shown = {entry.command.id for entry in fitting(entries(place, {}, {"close": "not marked"}, frozenset()), 78)}
    assert {"quit", "close", "help"} <= shown
    assert {"room_again", "room_next"} <= shown or {"mark_done", "mark_way", "mark_away"} <= shown
