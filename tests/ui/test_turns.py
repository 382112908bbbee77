"""One key for everything: what has its turn, what a press takes, and when nothing does."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from trainer.ui.command import Command, Place
from trainer.ui.commands import commands_of
from trainer.ui.turns import REST, Turn, Turns, in_turn

EACH_S = 2.0


class Table:
    """Turns on a clock of their own."""

    def __init__(self, *names: str) -> None:
        self.now = 0.0
        self.shown: list[str] = []
        self.found = tuple(Turn(Command(name, Place.HOME, (name,), name, ""), name, name) for name in names)
        self.busy = False
        self._due: tuple[float, Callable[[], None]] | None = None
        self.turns = Turns(EACH_S, lambda: () if self.busy else self.found, self._show, self._after, lambda: self.now)

    def wait(self, seconds: float) -> None:
        until = self.now + seconds
        while self._due is not None and self._due[0] <= until:
            (self.now, then), self._due = self._due, None
            then()
        self.now = until

    def press(self) -> str | bool:
        taken = self.turns.press(self.now)
        return taken.label if isinstance(taken, Turn) else taken

    def _after(self, delay: float, then: Callable[[], None]) -> Callable[[], None]:
        self._due = due = (self.now + delay, then)

        def cancel() -> None:
            if self._due is due:
                self._due = None

        return cancel

    def _show(self, turn: Turn | None) -> None:
        self.shown.append("" if turn is None else turn.label)


def test_after_a_rest_everything_has_its_turn_once_and_then_there_is_another_rest() -> None:
    table = Table("go", "back", "next")
    table.wait(REST * EACH_S - 0.1)
    assert table.shown == []
    table.wait(0.1 + 3 * EACH_S)
    assert table.shown == ["go", "back", "next", ""]
    table.wait(REST * EACH_S)
    assert table.shown[-1] == "go"


def test_a_press_means_what_it_always_means_until_something_has_its_turn() -> None:
    table = Table("go", "back", "next")
    table.wait(REST * EACH_S - 0.1)
    assert table.press() is False
    table.wait(REST * EACH_S - 0.1)
    assert table.shown == [], "a press is no rest"
    table.wait(0.1 + 2 * EACH_S + 0.5)
    assert table.press() == "next"
    assert table.shown[-1] == ""


def test_a_press_faster_than_anybody_reacts_takes_the_turn_before() -> None:
    table = Table("go", "back", "next")
    table.wait(REST * EACH_S + EACH_S + 0.05)
    assert table.shown[-1] == "back"
    assert table.press() == "go"


def test_the_same_press_held_or_trembling_takes_nothing_more() -> None:
    table = Table("go", "back", "next")
    table.wait(REST * EACH_S + EACH_S + 0.5)
    assert table.press() == "back"
    table.wait(0.3)
    assert table.press() is True
    table.wait(0.6)
    assert table.press() is False


def test_after_the_one_keys_own_meaning_the_next_press_counts_however_soon() -> None:
    table = Table("leave", "back")
    table.wait(REST * EACH_S + 0.5)
    assert table.press() == "leave"
    table.wait(0.2)
    assert table.press() is False


def test_while_a_hand_is_timed_nothing_has_its_turn() -> None:
    table = Table("go", "back", "next")
    table.busy = True
    table.wait(100)
    assert table.shown == []
    table.busy = False
    table.wait(REST * EACH_S)
    assert table.shown[-1] != ""
    table.busy = True
    table.wait(EACH_S)
    assert table.shown[-1] == ""
    assert table.press() is False


@pytest.mark.parametrize("place", [place for place in Place if commands_of(place)])
def test_the_first_turn_is_the_places_own_the_second_leads_back_the_last_ends(place: Place) -> None:
    found = in_turn(commands_of(place), lambda one: one.keys[:1], lambda one, _: one.label, frozenset())
    ids = [turn.command.id for turn in found]
    assert ids[0] == commands_of(place)[0].id
    assert ids[1] == "close"
    assert ids[-1] == "quit"
    missing = {one.id for one in commands_of(place)} - set(ids)
    assert missing <= {"leave", "land", "answer", "remark", "bar_number"}, "the one key does these, or they are typed"
