"""The whole room view as cells: the board as large as it can be, beside it or above it names, words and beat."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace

from trainer.hand.change import Action, BarreAction, Change, Move
from trainer.practice.room import Show
from trainer.ui.board import layout as small
from trainer.ui.board import picture as board
from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.picture import Look, Mode
from trainer.ui.board.window import needed
from trainer.ui.fitting import shortened
from trainer.ui.room import big
from trainer.ui.room.neck import lay_out
from trainer.ui.room.scene import Scene
from trainer.ui.room.sides import band, band_rows, panel, panel_columns

LEAST = (60, 19)
"""Columns and rows below which nothing is shown: the smallest window there is less its bar of keys."""
_BETWEEN = 2
"""Columns between two boards."""
_MOST_KEPT = 32
"""Boards kept once drawn: both pictures of sixteen changes, about 120 KiB each in a window of 200 by 60."""


class Painter:
    """Draws scene after scene; the boards, which are nearly all the work, once each.

    A class strikes on the beat, and that is when the next picture is due: what it takes, guitars wait for.
    """

    def __init__(self) -> None:
        """Have nothing drawn yet."""
        self._room: tuple[Look, int, int] | None = None
        self._kept: dict[Hashable, _Boards] = {}

    def draw(self, scene: Scene, look: Look, width: int, height: int) -> Picture:
        """Return what is seen in a room of `width` by `height` cells, filled to its edges."""
        if (look, width, height) != self._room:
            self._room = look, width, height
            self._kept.clear()
        key = (id(scene.change), scene.show, scene.arrived, scene.hidden, scene.both_hands)
        boards = self._kept.get(key)
        if boards is None:
            if len(self._kept) >= _MOST_KEPT:
                del self._kept[next(iter(self._kept))]
            boards = self._kept[key] = _drawn_boards(scene, look, width, height)
        if boards.beside:
            pairs = zip(boards.picture.rows, panel(scene, look, width, height).rows, strict=True)
            return Picture(width, height, tuple((*board, *text) for board, text in pairs))
        return Picture(width, height, band(scene, look, width, height).rows + boards.picture.rows)


@dataclass(frozen=True, slots=True)
class _Boards:
    """The boards of a scene, in a picture that fills the part of the room that is theirs."""

    change: Change
    """What they show; kept with them, so that no other change can have its place in memory."""
    beside: bool
    """True where text stands beside them, not above."""
    picture: Picture


def _drawn_boards(scene: Scene, look: Look, width: int, height: int) -> _Boards:
    beside = _beside(scene, width, height)
    room = _room(width, height, beside=beside)
    canvas = Canvas(*room)
    _place(canvas, _boards(scene, look, *room), (0, 0), room)
    return _Boards(scene.change, beside, canvas.picture())


def symbol(scene: Scene, width: int, height: int) -> tuple[int, int]:
    """Return columns and rows of a finger's mark in that room; (0, 0) where no board fits."""
    return _symbol(scene, *_room(width, height, beside=_beside(scene, width, height)))


def _beside(scene: Scene, width: int, height: int) -> bool:
    """Tell whether the text stands beside the board: where marks get no smaller by it."""
    beside = _symbol(scene, *_room(width, height, beside=True))
    return beside >= _symbol(scene, *_room(width, height, beside=False)) and beside != (0, 0)


def _room(width: int, height: int, *, beside: bool) -> tuple[int, int]:
    """Return the columns and rows that text beside the boards, or above them, leaves to them."""
    return (width - panel_columns(width), height) if beside else (width, height - band_rows(height))


def _symbol(scene: Scene, width: int, height: int) -> tuple[int, int]:
    if scene.both_hands:
        width = (width - _BETWEEN) // 2
    neck = lay_out(width, height, scene.instrument.strings, needed(scene.change))
    if neck is not None:
        return neck.mark
    labels = board.string_labels(scene.instrument)
    laid = small.lay_out(
        *(width, height),
        small.Neck(scene.instrument.strings, len(labels[0]), scene.instrument.top_fret),
        needed(scene.change),
    )
    return (0, 0) if laid is None else laid.tier.mark


def _boards(scene: Scene, look: Look, width: int, height: int) -> Picture | None:
    """Return the board, twice where both hands are served: right-handed at the left."""
    if not scene.both_hands:
        return _board(scene, look, width, height)
    half = (width - _BETWEEN) // 2
    pictures = [_board(scene, replace(look, left_handed=left), half, height) for left in (False, True)]
    canvas = Canvas(width, height)
    for number, picture in enumerate(pictures):
        _place(canvas, picture, (number * (half + _BETWEEN), 0), (half, height))
    return canvas.picture()


def _board(scene: Scene, look: Look, width: int, height: int) -> Picture | None:
    look = replace(look, upright=False, mode=_mode(scene))
    change = _drawn(scene)
    # Frets by the change itself, so that nothing jumps when less of it is drawn.
    frets = needed(scene.change)
    neck = lay_out(width, height, scene.instrument.strings, frets)
    if neck is not None:
        return big.draw(neck, change, look)
    return board.draw(change, scene.instrument, width, height, look, frets)


def _mode(scene: Scene) -> Mode:
    if scene.hidden:
        return Mode.HIDDEN
    shape = scene.show is Show.SHAPE or (scene.arrived and scene.show is Show.BOTH)
    return Mode.SHAPE if shape else Mode.CHANGE


def _drawn(scene: Scene) -> Change:
    """Return the change as it is drawn: the shape reached once it is held, and without what stays where asked."""
    change = scene.change
    if scene.show is Show.MOVEMENT:
        moves = tuple(Move(one.finger, Action.FREE) if one.action is Action.KEPT else one for one in change.moves)
        barres = tuple(one for one in change.barres if one.actions != (BarreAction.KEPT,))
        return replace(change, moves=moves, barres=barres)
    if scene.arrived:
        return replace(change, before=change.after, positions=(change.positions[1], change.positions[1]))
    return change


def _place(canvas: Canvas, picture: Picture | None, at: tuple[int, int], room: tuple[int, int]) -> None:
    """Put `picture` into the middle of a room at a place; where there is none, say so."""
    if picture is None:
        text = shortened(board.TOO_SMALL, room[0])
        canvas.centred(at[0] + room[0] // 2, at[1] + room[1] // 2, text, Ink(), word=True)
        return
    canvas.paste(picture, at[0] + (room[0] - picture.width) // 2, at[1] + (room[1] - picture.height) // 2)
