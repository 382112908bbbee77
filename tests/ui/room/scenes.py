"""Scenes of a room and rounds cut short, for tests that look at its pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.reach import Hand
from trainer.hand.words import describe
from trainer.practice.room import Phase
from trainer.ui.board.canvas import Picture
from trainer.ui.board.picture import Look
from trainer.ui.room.desk import Desk
from trainer.ui.room.picture import Painter
from trainer.ui.room.picture import symbol as symbol_in
from trainer.ui.room.scene import Scene

SHAPES = {
    "Am": "x 0 2/2 2/3 1/1 0",
    "C": "x 3/3 2/2 0 1/1 0",
    "F": "1/1 3/3 3/4 2/2 1/1 1/1",
    "G": "3/2 2/1 0 0 0 3/3",
    "A at V": "5/1 7/3 7/4 6/2 5/1 5/1",
    "G at III": "3/1 5/3 5/4 4/2 3/1 3/1",
}


@dataclass(frozen=True, slots=True)
class Chair:
    """A seat of a class."""

    id: str
    number: int
    name: str | None = None
    port: str | None = None


def scene(before: str, after: str, **given: Any) -> Scene:
    """Return the scene of a change between two of `SHAPES`, with these values in place of the usual ones."""
    change = analyse(parse_shape(SHAPES[before]), parse_shape(SHAPES[after]), Instrument(), Hand())
    return Scene(change, Instrument(), (before, after), describe(change), **given)


def draw(seen: Scene, look: Look, width: int, height: int) -> Picture:
    """Return what is seen in a room of so many cells."""
    return Painter().draw(seen, look, width, height)


def symbol(seen: Scene, _: Look, width: int, height: int) -> tuple[int, int]:
    """Return columns and rows of a finger's mark in that room, which are the same in every look."""
    return symbol_in(seen, width, height)


def to_its_last_beat(desk: Desk) -> None:
    """Let the round that is played be on its last beat at once: with the next one it is over."""
    assert desk.room.phase is Phase.PLAYING
    while (on := desk.room.tick()).phase is Phase.PLAYING:
        desk.room = on
