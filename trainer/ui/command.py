"""What a command is: where it works, which keys it has, the player's own among them, and how a key is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

WAY_OUT = "ctrl+c"
"""The key that always ends the program; no setting can take it away."""


class Place(StrEnum):
    """Where a command works."""

    EVERYWHERE = "everywhere"
    DRILL = "drilling"
    HOME = "home"
    LIBRARY = "library"
    PROGRESS = "progress"
    HAND = "what costs a hand"
    PLAN = "join plan"
    BENCH = "fingering bench"
    WARMUP = "warm-up"
    ROOM = "before a class"
    MARKS = "marking a round"
    SETTINGS = "settings"
    LATENCY = "click delay"
    MAKE = "make a change"
    GUITAR = "set up a guitar"
    SCORES = "scores"
    SCORE = "bars of a score"
    HELP = "help"


TYPED_IN = frozenset({Place.LIBRARY, Place.SCORES, Place.MARKS})
"""Where keys which write something are typed into a search, which has the focus from the first, or mark a seat."""

SEAT_KEYS = (*"1234567890", *"abcdefghijklmnopqrstuvwxyz", "comma", "full_stop", "minus", "plus")
"""The key of each seat, by its number: digits and letters in order, so that they are found on any layout."""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing a player can ask for."""

    id: str
    """What settings call it when keys are rebound."""
    place: Place
    """Where it works."""
    keys: tuple[str, ...]
    """The keys it starts out with, as Textual names them; the first one is shown."""
    label: str
    """One or two words for the key bar."""
    does: str
    """One sentence for the help page."""
    bar: bool = True
    """True where the key bar shows it."""
    fixed: bool = False
    """True where its keys cannot be other ones: a digit answers with itself."""


@dataclass(frozen=True, slots=True)
class Call:
    """A command that was asked for."""

    command: Command
    """Which."""
    at: float
    """When its key came in, monotonic seconds: stamped by the thread that reads the terminal."""
    key: str = ""
    """The key, as Textual names it; empty where it was clicked."""


_SHOWN = {
    "question_mark": "?",
    "comma": ",",
    "full_stop": ".",
    "minus": "-",
    "plus": "+",
    "equals_sign": "=",
    "pagedown": "page down",
    "pageup": "page up",
    "escape": "esc",
    "backspace": "bksp",
}


def key_text(key: str) -> str:
    """Return a key as a player would read it on the keyboard."""
    return _SHOWN.get(key, key.upper() if key.startswith("f") and key[1:].isdigit() else key)


def writes(key: str) -> bool:
    """Tell whether `key` puts a character into a line that is being typed."""
    return key == "space" or len(key_text(key)) == 1


def keys_of(command: Command, rebound: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return the keys of `command`, rebinding applied."""
    return command.keys if command.fixed else rebound.get(command.id, command.keys)


def bar_key(place: Place, command: Command, rebound: Mapping[str, tuple[str, ...]]) -> str:
    """Return the key of `command` that the bar of `place` names: the first that works there; empty where none does."""
    keys = keys_of(command, rebound)
    return next((key for key in keys if place not in TYPED_IN or not writes(key)), "")
