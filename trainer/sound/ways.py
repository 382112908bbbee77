"""The ways a beat can be heard, best first, and why one is taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Way(StrEnum):
    """How the beat is heard; it is always seen."""

    SOUND = "sound"
    """Through the sound device: the sample stream places each click."""
    PORT = "port"
    """Through a MIDI port of our own, for whatever instrument is connected to it."""
    BELL = "bell"
    """By the terminal's bell."""
    NONE = "none"
    """Not at all."""


EXACT = {
    Way.SOUND: "to the sample",
    Way.PORT: "to a few milliseconds: a timer of the program sends each note",
    Way.BELL: "roughly: the terminal rings when it gets round to it, and cannot tell an accent",
    Way.NONE: "on the screen only",
}
"""How exactly a click comes in each way; said when the way is chosen."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The way that is taken."""

    way: Way
    """The way."""
    words: str
    """What to tell the player: the way, how exact it is, and why not a better one."""
    hindered: str = ""
    """Why the way that was wanted could not be taken, in a few words; empty where it is the one taken."""


def choose(hindrances: Mapping[Way, str | None], wanted: Way = Way.SOUND) -> Choice:
    """Return the best way from `wanted` down that nothing hinders.

    `hindrances` say in a few words why a way cannot be taken, None where it can; a way that is not in it is taken.
    """
    ways = list(Way)
    passed: list[str] = []
    for way in ways[ways.index(wanted) :]:
        why = hindrances.get(way)
        if why is None or way is Way.NONE:
            taken = f"beat by {way}, {EXACT[way]}" if way is not Way.NONE else EXACT[way]
            return Choice(way, "; ".join([taken, *passed]), hindrances.get(wanted) or "")
        passed.append(f"not by {way}: {why}")
    raise AssertionError("the last way is always open")
