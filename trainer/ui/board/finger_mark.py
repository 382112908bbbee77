"""Draw one finger's mark in every size, big figures included."""

from __future__ import annotations

from trainer.ui.board.blocks import ANY_FINGER, LOWER, block
from trainer.ui.board.canvas import Canvas, Fill, Ink
from trainer.ui.board.layout import Point
from trainer.ui.board.marks import Glyphs, Role, Sign

_ANY_PLAIN = "*"
"""What stands for any finger, in ASCII."""
_HOLLOW = frozenset({Sign.LEAVE, Sign.LIFT})
"""Marks of fingers that are not going to be there: never filled with colour."""
_BLOCKS = frozenset({Sign.KEPT, Sign.HELD})
"""Marks whose frame is itself made of blocks: only what lies inside is filled."""
_STAYING = frozenset({Sign.KEPT, Sign.HINGE})
"""Marks of fingers that stay down: solid in every size."""
_FIRST_FREE_ROW = 1
"""The row above belongs to fret numbers or string labels."""
_FIGURE_ROWS = 3
"""Height of a big figure in cells."""


def draw_mark(
    canvas: Canvas, centre: Point, digit: str, sign: Sign, size: tuple[int, int], glyphs: Glyphs, role: Role
) -> None:
    """Draw the mark of `sign` with a finger's number, its middle at `centre`, `size` cells wide and high."""
    sample = glyphs.mark(sign)
    left, right = sample[0], sample[-1]
    digit = any_finger(glyphs) if digit == ANY_FINGER else digit
    width, height = size
    solid, big = sign is Sign.KEPT, height >= _FIGURE_ROWS and glyphs.fine
    x, y = centre[0] - width // 2, centre[1] - height // 2
    inside = Ink(role, _fill(sign, big=big))
    frame = Ink(role) if sign in _BLOCKS else inside
    for row in range(height):
        canvas.put(x, y + row, left, frame)
        canvas.put(x + 1, y + row, (left if solid else " ") * (width - 2), frame if solid else inside)
        canvas.put(x + width - 1, y + row, right, frame)
    if not big:
        canvas.put(*centre, digit, inside)
        return
    for row, text in enumerate(block(digit, 1, cut_out=solid)):
        canvas.centred(centre[0], y + row, text, frame if solid else inside, word=True)


def draw_cap(canvas: Canvas, centre: Point, size: tuple[int, int], glyphs: Glyphs, role: Role) -> None:
    """Draw the upper rim of a solid mark with a big figure, half a row above it; marks drawn later may cover it."""
    width, height = size
    y = centre[1] - height // 2 - 1
    if height >= _FIGURE_ROWS and glyphs.fine and y >= _FIRST_FREE_ROW:
        canvas.put(centre[0] - width // 2, y, LOWER * width, Ink(role))


def _fill(sign: Sign, *, big: bool) -> Fill:
    if sign in _HOLLOW:
        return Fill.NONE
    return Fill.TINT if big and sign not in _STAYING else Fill.SOLID


def any_finger(glyphs: Glyphs) -> str:
    """Return what stands for the number where a shape does not say which finger."""
    return ANY_FINGER if glyphs.fine else _ANY_PLAIN
