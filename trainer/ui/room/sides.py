"""Names, words and beat of the room view, in a column beside the board or in a band above it."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.marks import Role
from trainer.ui.board.picture import Look
from trainer.ui.figures import ROWS, figures, has_figures
from trainer.ui.fitting import clauses, shortened
from trainer.ui.room.scene import Scene

_TALL = 40
"""Rows from which names above the board are twice as large."""
_PANEL = 0.22
"""Part of the width that names, words and beat take beside the board."""
_LEAST_PANEL = 22
_LEAST_TOLD = 16
"""Columns that what is told beside the names has at the least: room for 'change 12 of 16' in one row."""
_BAND = ROWS + 2
"""Rows of names, words and beat above the board; names grow with the room."""


def panel_columns(width: int) -> int:
    """Return how many of `width` columns text takes that stands beside the board."""
    return max(round(width * _PANEL), _LEAST_PANEL)


def band_rows(height: int) -> int:
    """Return how many of `height` rows text takes that stands above the board."""
    return _BAND + ROWS * (height >= _TALL)


def panel(scene: Scene, look: Look, width: int, height: int) -> Picture:
    """Return the column beside the board in that room: names from the top, the beat from the foot, words between."""
    columns = panel_columns(width)
    canvas = Canvas(columns, height)
    fine, left, width = look.glyphs.fine, 1, columns - 1
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
    _put(canvas, _words_in(scene.words, width, max(foot - y - 1, 0)), left, y, Role.BLANK)
    return canvas.picture()


def band(scene: Scene, look: Look, width: int, height: int) -> Picture:
    """Return the band above the board in that room: names at the left, the beat at the right, words below."""
    rows = band_rows(height)
    canvas = Canvas(width, rows)
    fine, height = look.glyphs.fine, rows - 2
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
        drawn = fitted(name, each, height, fine=fine)
        if number:
            canvas.put(x, height // 2, arrow, Ink(role), word=True)
            x += len(arrow) + 2
        _put(canvas, drawn, x, 0, role)
        x += max(map(len, drawn)) + 2
    canvas.put(0, height, clauses(scene.words, width), Ink(), word=True)
    return canvas.picture()


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


def _words_in(text: str, width: int, rows: int) -> tuple[str, ...]:
    """Return as many clauses of `text` as fit, each begun on a row of its own."""
    lines: list[str] = []
    for clause in text.split("; "):
        new = wrap(clause, width) or [""]
        if len(lines) + len(new) > rows:
            break
        lines += new
    return tuple(lines)
