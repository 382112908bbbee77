"""Seats as tiles in a grid: which key each has while a round is marked, and how it was for each. Cells only."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from trainer.practice.rounds import Mark, Result
from trainer.ui.board.canvas import Canvas, Fill, Ink, Picture
from trainer.ui.board.marks import Role
from trainer.ui.figures import ROWS, figures, has_figures
from trainer.ui.fitting import shortened

_MOST = 10
"""Columns at most: a row of digits, then letters."""
_NARROWEST = 11
"""Cells of the narrowest tile: its key, a mark in whole words, and an edge."""
_INKS = {
    Mark.HAD: Ink(Role.HEARD),
    Mark.MISSED: Ink(Role.MISSING, Fill.SOLID),
    Mark.AWAY: Ink(Role.DIM),
}
"""A seat that missed is filled, so that it stands out among those that had it, with colours and without."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One seat as it is shown."""

    title: str
    """A line above: who sits there where that is said, and what else is to be read from near."""
    mark: Mark
    """How the round was for it."""
    says: str
    """The same in a word or two."""
    big: str
    """What is read from the back of the room: the key that marks it, or its number."""


def said(result: Result) -> str:
    """Return a seat's round in a few words: `had it, 40 ms late`, `missed, 3 up`."""
    words = [str(result.mark)]
    if result.heard is not None:
        late = result.heard.late_ms
        if late is not None and round(late):
            words.append(f"{abs(round(late))} ms {'late' if late > 0 else 'early'}")
        if result.heard.finger_up is not None:
            words.append(f"{result.heard.finger_up} up")
    return ", ".join(words)


def draw(tiles: Sequence[Tile], width: int, height: int, *, fine: bool) -> Picture:
    """Return the tiles, each row from the left, filling a room of `width` by `height` cells."""
    canvas = Canvas(width, height)
    across = columns(len(tiles), width, height)
    wide, high = width // across, height // math.ceil(len(tiles) / across)
    for number, tile in enumerate(tiles):
        _draw(canvas, tile, (number % across * wide, number // across * high), (wide - 1, high - 1 or 1), fine=fine)
    return canvas.picture()


def columns(count: int, width: int, height: int) -> int:
    """Return the columns in which so many tiles become largest: a cell is about twice as high as it is wide."""
    fit = range(1, max(min(_MOST, count, width // _NARROWEST), 1) + 1)
    return max(fit, key=lambda across: (min(width // across / 4, height // math.ceil(count / across)), across))


def _draw(canvas: Canvas, tile: Tile, at: tuple[int, int], room: tuple[int, int], *, fine: bool) -> None:
    (x, y), (width, height), ink = at, room, _INKS[tile.mark]
    for row in range(height):
        canvas.put(x, y + row, " " * width, ink)
    big = _figures(tile.big, width - 2, height - 2, fine=fine)
    for row, text in enumerate(big):
        canvas.put(x + 1, y + 1 + row, text, ink)
    above = tile.title if big else f"{tile.big}  {tile.title}" if height > 1 else f"{tile.big} {tile.says}"
    canvas.put(x + 1, y, shortened(above, width - 2), ink, word=True)
    told = _told(tile.says, width - 2, height - 1 - len(big))
    for row, text in enumerate(told, start=height - len(told)):
        canvas.put(x + 1, y + row, text, ink, word=True)


def _told(says: str, width: int, rows: int) -> list[str]:
    """Return what is said in so many rows; what does not fit is cut off in the last one, never the mark in front."""
    told = wrap(says, width)
    return told if len(told) <= rows else [*told[: rows - 1], shortened(" ".join(told[rows - 1 :]), width)][:rows]


def _figures(key: str, width: int, height: int, *, fine: bool) -> tuple[str, ...]:
    """Return a key or number in figures, letters as on the caps of keys; nothing where there is no room for them."""
    text = key.upper()
    scales = range(height // ROWS, 0, -1) if has_figures(text) and (fine or text.isdigit()) else ()
    sizes = (figures(text, scale, fine=fine) for scale in scales)
    return next((rows for rows in sizes if len(rows[0]) <= width and len(rows) <= height), ())
