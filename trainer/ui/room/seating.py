"""The seats of a class as tiles: with their keys while a round is marked, with what came of it afterwards."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from trainer.errors import plain
from trainer.practice.rounds import Mark, Marking, Round
from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.marks import Role
from trainer.ui.board.picture import Look
from trainer.ui.command import SEAT_KEYS, key_text
from trainer.ui.figures import ROWS
from trainer.ui.fitting import shortened
from trainer.ui.room.grid import Tile, draw, said
from trainer.ui.room.sides import fitted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trainer.ui.room.desk import Group, Seat

_NONE_LEFT: Mapping[str, str] = MappingProxyType({})
_BIG_ROWS = 30
"""Rows of the room from which what came of a round is told in larger figures."""


def seat_of(group: Group, key: str) -> Seat | None:
    """Return the seat that `key` marks, as Textual names it; None where no seat has it."""
    number = SEAT_KEYS.index(key) + 1
    return next((seat for seat in group.seats if seat.number == number), None)


def to_mark(
    group: Group,
    marking: Marking,
    look: Look,
    width: int,
    height: int,
    left: Mapping[str, str] = _NONE_LEFT,
    say: str = "",
) -> Picture:
    """Return the grid of a round that is marked: each seat with its key and how it stands.

    `left`: why a seat that has a guitar was not heard, by its id; `say`: a line in place of how marking goes.
    """
    tiles = [
        Tile(_title(seat), result.mark, _with(said(result), left.get(seat.id)), key_text(SEAT_KEYS[seat.number - 1]))
        for seat, result in zip(group.seats, marking.results(), strict=True)
    ]
    head = f"{_shares(result.mark for result in marking.results())}: {say or _WAYS[marking.usual]}"
    return _under(head, draw(tiles, width, height - 2, fine=look.glyphs.fine), width, height)


def told(group: Group, done: Round, tempo: float, why: str, look: Look, width: int, height: int) -> Picture:
    """Return what came of a round: how many had it, the tempo next, and each seat; `why` it could not be kept."""
    tiles = [
        Tile(plain(seat.name or ""), result.mark, said(result), str(seat.number))
        for seat, result in zip(group.seats, done.results, strict=True)
    ]
    fine, rows = look.glyphs.fine, ROWS * (1 + (height >= _BIG_ROWS))
    share = fitted(f"{done.had}/{done.asked}", width // 3, rows, fine=fine)
    after = fitted(f"{tempo:g}", width // 4, rows, fine=fine)
    canvas = Canvas(width, height)
    for y, row in enumerate(share):
        canvas.put(1, y, row, Ink(Role.HEARD), word=True)
    for y, row in enumerate(after):
        canvas.put(width - len(row) - 1, y, row, Ink(Role.HELD), word=True)
    middle = max(map(len, share)) + 3
    room = width - middle - max(map(len, after)) - 3
    sentences = (_had(done), _next(done.tempo, tempo), why)
    for y, sentence in enumerate(filter(None, sentences)):
        canvas.put(middle, y, shortened(plain(sentence), room), Ink(), word=True)
    canvas.paste(draw(tiles, width, height - rows - 1, fine=fine), 0, rows + 1)
    return canvas.picture()


_WAYS = {
    Mark.HAD: "a key marks who missed",
    Mark.MISSED: "a key marks who had it",
}


def _with(words: str, why: str | None) -> str:
    return words if why is None else f"{words}, {why}"


def _title(seat: Seat) -> str:
    return f"{seat.number} {plain(seat.name)}" if seat.name else str(seat.number)


def _shares(marks: Iterable[Mark]) -> str:
    every = list(marks)
    away = every.count(Mark.AWAY)
    return f"{every.count(Mark.HAD)} of {len(every) - away} had it" + (f", {away} away" if away else "")


def _had(done: Round) -> str:
    return f"{_shares(result.mark for result in done.results)} at {done.tempo:g}."


def _next(tempo: float, after: float) -> str:
    if after == tempo:
        return f"Next: {after:g} again."
    return f"Next: {after:g}, {'faster' if after > tempo else 'slower'}."


def _under(head: str, picture: Picture, width: int, height: int) -> Picture:
    canvas = Canvas(width, height)
    canvas.put(1, 0, shortened(head, width - 2), Ink(), word=True)
    canvas.paste(picture, 0, 2)
    return canvas.picture()
