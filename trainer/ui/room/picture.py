"""The whole room view as cells: the board as large as it can be, beside or below it names, words and beat."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from textwrap import wrap

from trainer.fretboard.instrument import Instrument
from trainer.hand.change import Action, BarreAction, Change, Move
from trainer.practice.room import Show
from trainer.ui.board import layout as small
from trainer.ui.board import picture as board
from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.marks import Role
from trainer.ui.board.picture import Look, Mode
from trainer.ui.board.window import needed
from trainer.ui.room import big
from trainer.ui.room.neck import lay_out
from trainer.ui.widgets.figures import ROWS, figures, has_figures
from trainer.ui.widgets.lines import clauses, shortened

LEAST = (60, 19)
"""Columns and rows below which nothing is shown: the smallest window there is less its bar of keys."""
_TALL = 40
"""Rows from which names above the board are twice as large."""
_PANEL = 0.22
"""Part of the width that names, words and beat take beside the board."""
_LEAST_PANEL = 22
_LEAST_TOLD = 16
"""Columns that what is told beside the names has at the least: room for 'change 12 of 16' in one row."""
_BETWEEN = 2
"""Columns between two boards."""
_MOST_KEPT = 32
"""Boards kept once drawn: both pictures of sixteen changes, about 120 KiB each in a window of 200 by 60."""
_BAND = ROWS + 2
"""Rows of names, words and beat above the board; names grow with the room."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What is seen."""

    change: Change
    """The change at hand."""
    instrument: Instrument
    """What it is played on."""
    names: tuple[str, str]
    """What the shape now and the next one are called; no next one once the last is held."""
    words: str
    """The change in words."""
    beat: int = 0
    """Which beat it is; 0: none."""
    counting: bool = False
    """True while a bar is counted in."""
    tempo: float = 60.0
    """Beats per minute."""
    said: str = ""
    """What there is to say besides: frozen, from memory, which part."""
    show: Show = Show.BOTH
    """What of the change is drawn."""
    arrived: bool = False
    """True while the last shape is held."""
    hidden: bool = False
    """True: only the names."""
    both_hands: bool = False
    """True: drawn twice."""


def draw(scene: Scene, look: Look, width: int, height: int) -> Picture:
    """Return what is seen in a room of `width` by `height` cells, filled to its edges."""
    return Painter().draw(scene, look, width, height)


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
            panel = _panel(width)
            canvas = Canvas(panel, height)
            _draw_panel(canvas, scene, look, 1, panel - 1)
            pairs = zip(boards.picture.rows, canvas.picture().rows, strict=True)
            return Picture(width, height, tuple((*board, *text) for board, text in pairs))
        band = _band(height)
        canvas = Canvas(width, band)
        _draw_band(canvas, scene, look, band)
        return Picture(width, height, canvas.picture().rows + boards.picture.rows)


@dataclass(frozen=True, slots=True)
class _Boards:
    """The boards of a scene, in a picture that fills the part of the room that is theirs."""

    change: Change
    """What they show; kept with them, so that no other change can have its place in memory."""
    beside: bool
    """True where text stands beside them, not above."""
    picture: Picture


def _drawn_boards(scene: Scene, look: Look, width: int, height: int) -> _Boards:
    beside = _beside(scene, look, width, height)
    room = (width - _panel(width), height) if beside else (width, height - _band(height))
    canvas = Canvas(*room)
    _place(canvas, _boards(scene, look, *room), (0, 0), room)
    return _Boards(scene.change, beside, canvas.picture())


def symbol(scene: Scene, look: Look, width: int, height: int) -> tuple[int, int]:
    """Return columns and rows of a finger's mark in that room; (0, 0) where no board fits."""
    beside = _beside(scene, look, width, height)
    return _symbol(scene, *((width - _panel(width), height) if beside else (width, height - _band(height))))


def _beside(scene: Scene, look: Look, width: int, height: int) -> bool:
    """Tell whether the text stands beside the board: where marks get no smaller by it."""
    beside = _symbol(scene, width - _panel(width), height)
    return beside >= _symbol(scene, width, height - _band(height)) and beside != (0, 0)


def _panel(width: int) -> int:
    return max(round(width * _PANEL), _LEAST_PANEL)


def _band(height: int) -> int:
    return _BAND + ROWS * (height >= _TALL)


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
        text = "too small for the board"
        canvas.centred(at[0] + room[0] // 2, at[1] + room[1] // 2, shortened(text, room[0]), Ink(), word=True)
        return
    canvas.paste(picture, at[0] + (room[0] - picture.width) // 2, at[1] + (room[1] - picture.height) // 2)


# Names, words and beat


def _draw_panel(canvas: Canvas, scene: Scene, look: Look, left: int, width: int) -> None:
    """Draw them in a column: names from the top, the beat from the foot, words between."""
    fine, height = look.glyphs.fine, canvas.height
    rows = max(height // 6, ROWS)
    y = 0
    for name, role in zip(scene.names, (Role.OPEN, Role.HELD), strict=True):
        if name:
            if y:
                canvas.put(left, y, look.glyphs.heads[2] * 3, Ink(role), word=True)
                y += 1
            y = _put(canvas, fitted(name, width, rows, fine=fine), left, y, role) + 1
    beat = fitted(str(scene.beat), width, rows, fine=fine) if scene.beat else ()
    foot = height - len(beat)
    _put(canvas, beat, left, foot, Role.MISSING if scene.counting else Role.HAND)
    told = tuple(_told(scene, width, height))
    foot -= len(told)
    _put(canvas, told, left, foot, Role.BLANK)
    _put(canvas, words_in(scene.words, width, max(foot - y - 1, 0)), left, y, Role.BLANK)


def _draw_band(canvas: Canvas, scene: Scene, look: Look, band: int) -> None:
    """Draw them in a band: names at the left, the beat at the right, words in the row below."""
    fine, width, height = look.glyphs.fine, canvas.width, band - 2
    beat = fitted(str(scene.beat), width // 6, height, fine=fine) if scene.beat else ()
    wide = max(map(len, beat), default=0)
    _put(canvas, beat, width - wide, 0, Role.MISSING if scene.counting else Role.HAND)
    told = tuple(_told(scene, max(width // 5, _LEAST_TOLD), height))
    side = width - width // 6 - max(map(len, told), default=0) - 1
    _put(canvas, told, side, 0, Role.BLANK)
    names = [name for name in scene.names if name]
    arrow = look.glyphs.heads[0] * 3
    each = (side - len(arrow) - 4) // 2
    x = 0
    for number, (name, role) in enumerate(zip(names, (Role.OPEN, Role.HELD), strict=False)):
        rows = fitted(name, each, height, fine=fine)
        if number:
            canvas.put(x, height // 2, arrow, Ink(role), word=True)
            x += len(arrow) + 2
        _put(canvas, rows, x, 0, role)
        x += max(map(len, rows)) + 2
    canvas.put(0, height, clauses(scene.words, width), Ink(), word=True)


def _told(scene: Scene, width: int, rows: int) -> Iterator[str]:
    """Yield at most so many rows over the beat: what there is to say, how fast, and what the figure is."""
    if scene.said:
        # A bar that is counted in and one that is played differ in nothing else but colour.
        left = rows - 1 - (scene.beat > 0)
        yield from wrap(scene.said, width, max_lines=min(left, 2), placeholder=" ...")
    yield shortened(f"{scene.tempo:g} a minute", width)
    if scene.beat:
        yield "count-in" if scene.counting else "beat"


def _put(canvas: Canvas, rows: tuple[str, ...], x: int, y: int, role: Role) -> int:
    """Draw rows of text, and return the row below them."""
    for number, row in enumerate(rows):
        canvas.put(x, y + number, row, Ink(role), word=True)
    return y + len(rows)


def fitted(text: str, width: int, rows: int, *, fine: bool) -> tuple[str, ...]:
    """Return `text` in the largest figures that fit `width` by `rows` cells; in one row of letters where none do."""
    scales = range(rows // ROWS, 0, -1) if has_figures(text) or not fine else ()
    sizes = (figures(text, scale, fine=fine) for scale in scales)
    fit = (drawn for drawn in sizes if len(drawn) <= rows and len(drawn[0]) <= width)
    return next(fit, (shortened(text, width),))


def words_in(text: str, width: int, rows: int) -> tuple[str, ...]:
    """Return as many clauses of `text` as fit, each begun on a row of its own."""
    lines: list[str] = []
    for clause in text.split("; "):
        new = wrap(clause, width) or [""]
        if len(lines) + len(new) > rows:
            break
        lines += new
    return tuple(lines)
