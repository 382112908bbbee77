"""A small upright diagram of one shape, for what comes after the next change."""

from __future__ import annotations

from trainer.fretboard.shape import Shape
from trainer.hand.words import roman
from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.finger_mark import any_finger
from trainer.ui.board.marks import UPRIGHT_LINES, Role, Sign
from trainer.ui.board.neck import edge_sign
from trainer.ui.board.picture import Look
from trainer.ui.board.window import FEWEST, NEAR_NUT, Window

_GUTTER = 5
"""Columns beside the strings for the lowest fret's Roman numeral."""
_HEAD = 2
"""Rows above the first fret: open strings, nut."""


def mini(shape: Shape, look: Look | None = None) -> Picture:
    """Return `shape` as an upright diagram: two columns a string, one row a fret, last string on the left.

    It takes `mini_size` cells. Of `look` the glyphs and the side are used.
    """
    look = look or Look()
    window = _window(shape)
    canvas = Canvas(*mini_size(shape))
    columns = {string: _GUTTER + 2 * (shape.strings - string) for string in range(1, shape.strings + 1)}
    _draw_neck(canvas, look, window, columns)
    for string, x in columns.items():
        sign = edge_sign(shape[string], shape[string], damp=False)
        if sign is not None:
            canvas.put(x, 0, look.glyphs.mark(sign)[1], Ink(Role.OPEN))
    ink = Ink(Role.HELD)
    for barre in shape.barres:
        left, right = columns[barre.low_string], columns[barre.high_string]
        y = _HEAD + barre.fret - window.first
        canvas.put(left, y, look.glyphs.mark(Sign.SLIDE)[1] * (right - left + 1), Ink(Role.BARRE))
        for x in (left, right):
            canvas.put(x, y, str(barre.finger), ink)
    for string, stop in shape:
        if stop.stopped:
            digit = any_finger(look.glyphs) if stop.finger is None else str(stop.finger)
            canvas.put(columns[string], _HEAD + stop.fret - window.first, digit, ink)
    picture = canvas.picture()
    return picture.mirrored() if look.left_handed else picture


def mini_size(shape: Shape) -> tuple[int, int]:
    """Return width and height in cells of the diagram of `shape`."""
    return _GUTTER + 2 * shape.strings - 1, _HEAD + _window(shape).count


def _window(shape: Shape) -> Window:
    low, high = min(shape.frets, default=1), max(shape.frets, default=1)
    first = 1 if low <= NEAR_NUT and high <= FEWEST else low
    return Window(first, max(high, first + FEWEST - 1))


def _draw_neck(canvas: Canvas, look: Look, window: Window, columns: dict[int, int]) -> None:
    glyphs = look.glyphs
    top = UPRIGHT_LINES[glyphs.nut if window.first == 1 else glyphs.wire]
    canvas.put(_GUTTER, 1, top * (2 * len(columns) - 1), Ink(Role.FRET))
    for string, x in columns.items():
        for y in range(_HEAD, _HEAD + window.count):
            canvas.put(x, y, UPRIGHT_LINES[glyphs.along], Ink(Role.STRING, string=string))
    if window.first > 1:
        canvas.put(0, _HEAD, f"{roman(window.first):>{_GUTTER - 1}}", Ink(Role.HAND), word=True)
