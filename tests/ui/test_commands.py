"""The one command table, and the key bar that shows it."""

from __future__ import annotations

from collections import Counter

import pytest

from trainer.practice.phases import Mode, Phase
from trainer.practice.roster import MOST_SEATS
from trainer.practice.wording import ANYWHERE, SAID, said
from trainer.ui.command import SEAT_KEYS, WAY_OUT, Place, key_text, keys_of
from trainer.ui.commands import COMMANDS, IDS, commands_of, keymap
from trainer.ui.drilling.left_out import hidden
from trainer.ui.widgets.keybar import entries, fitting


@pytest.mark.parametrize("place", [place for place in Place if place is not Place.EVERYWHERE])
def test_no_key_does_two_things_in_one_place(place: Place) -> None:
    own = [key for command in commands_of(place) if command.place is place for key in command.keys]
    assert [key for key, count in Counter(own).items() if count > 1] == []


def test_every_id_is_given_once() -> None:
    assert len({command.id for command in COMMANDS}) == len(COMMANDS)


def test_nothing_takes_the_way_out() -> None:
    assert all(WAY_OUT not in command.keys for command in COMMANDS)


def test_page_turners_drive_a_run_out_of_the_box() -> None:
    keys = keymap(Place.DRILL, {})
    assert {keys[key].id for key in ("pagedown", "right", "down", "space", "enter")} == {"press"}


def test_a_command_can_have_other_keys_and_loses_its_own() -> None:
    keys = keymap(Place.DRILL, {"press": ("f5", "g")})
    assert keys["f5"].id == keys["g"].id == "press"
    assert "space" not in keys


def test_a_place_goes_before_everywhere_for_the_same_key() -> None:
    assert keymap(Place.DRILL, {"press": ("q",)})["q"].id == "press"


def test_digits_answer_with_themselves_whatever_is_set() -> None:
    keys = keymap(Place.DRILL, {"answer": ("f9",)})
    assert keys["7"].id == "answer"
    assert "answer" not in IDS


@pytest.mark.parametrize("phase", Phase)
@pytest.mark.parametrize("mode", Mode)
def test_the_whole_key_bar_of_a_drill_fits_eighty_columns(mode: Mode, phase: Phase) -> None:
    if (mode, phase) in SAID or phase in ANYWHERE:
        every = entries(Place.DRILL, {}, {"press": said(mode, phase).press}, hidden(mode, phase))
        assert fitting(every, 78) == every


@pytest.mark.parametrize("place", [Place.HOME, Place.HELP])
def test_other_key_bars_fit_too(place: Place) -> None:
    hidden = frozenset({"close"}) if place is Place.HOME else frozenset({"help"})
    every = entries(place, {}, {}, hidden)
    assert fitting(every, 78) == every


def test_a_narrow_bar_keeps_the_ways_out() -> None:
    shown = {entry.command.id for entry in fitting(entries(Place.DRILL, {}, {"press": "leave"}, frozenset()), 40)}
    assert {"help", "close", "quit", "press"} <= shown


def test_keys_read_as_on_the_keyboard() -> None:
    assert [key_text(key) for key in ("question_mark", "f1", "pagedown", "space", "m")] == [
        "?",
        "F1",
        "page down",
        "space",
        "m",
    ]


def test_a_command_without_keys_is_not_in_the_bar() -> None:
    assert not any(entry.command.id == "mode" for entry in entries(Place.DRILL, {"mode": ()}, {}, frozenset()))
    (mode,) = (command for command in COMMANDS if command.id == "mode")
    assert keys_of(mode, {"mode": ()}) == ()


def test_where_keys_are_typed_the_bar_names_others() -> None:
    shown = {entry.command.id: entry.key for entry in entries(Place.LIBRARY, {}, {}, frozenset())}
    assert (shown["help"], shown["quit"]) == ("F1", "ctrl+q")
    typed = entries(Place.LIBRARY, {"skill": ("space", "z")}, {}, frozenset())
    assert "skill" not in {entry.command.id for entry in typed}


@pytest.mark.parametrize("place", Place)
def test_no_bar_says_a_key_and_then_the_same_as_its_label(place: Place) -> None:
    assert not any(entry.key == entry.label for entry in entries(place, {}, {}, frozenset()))


def test_every_seat_of_the_largest_class_has_a_key_of_its_own() -> None:
    assert len(set(SEAT_KEYS)) == len(SEAT_KEYS) == MOST_SEATS
