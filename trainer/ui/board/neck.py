"""Draw the neck itself: strings, frets, labels, open strings and the hand's position."""

from __future__ import annotations

from trainer.fretboard.shape import Shape, Stop
from trainer.hand.change import Change, Why
from trainer.hand.words import roman
from trainer.ui.board.canvas import Canvas, Ink
from trainer.ui.board.layout import UPRIGHT_EDGE, Layout
from trainer.ui.board.marks import MARKS, UPRIGHT_LINES, Glyphs, Role, Sign

_WORD_ROWS = 3
"""Rows from string to string from which on a lying neck has room for words beside its marks."""


def draw_neck(canvas: Canvas, layout: Layout, glyphs: Glyphs, labels: tuple[str, ...], capo: int) -> None:
    """Draw strings, frets, string labels (string 1 first) and fret numbers; each string is tagged with its number."""
    _draw_strings(canvas, layout, glyphs)
    for index, along in enumerate(layout.wires):
        at_nut = index == 0 and layout.window.first == 1
        _draw_wire(canvas, layout, glyphs, along, at_nut=at_nut)
    for string, label in enumerate(labels, start=1):
        line = layout.lines[string - 1]
        if layout.upright:
            canvas.centred(line, 0, label.replace(" ", ""), Ink(Role.DIM), word=True)
        else:
            canvas.put(0, line, label, Ink(Role.DIM), word=True)
        draw_end(canvas, layout, string, "   ", Role.DIM)
    for fret in layout.window.frets:
        _draw_beside(canvas, layout, fret, str(fret), Role.DIM)
    if capo:
        canvas.put(0, 0, f"capo {capo}", Ink(Role.DIM), word=True)


def draw_end(canvas: Canvas, layout: Layout, string: int, text: str, role: Role) -> None:
    """Draw three cells beyond the last fret of `string`."""
    along = layout.wires[-1] + (1 if layout.upright else 2)
    canvas.centred(*layout.at(along, layout.lines[string - 1]), text, Ink(role, string=string))


def draw_edge(canvas: Canvas, layout: Layout, glyphs: Glyphs, string: int, sign: Sign) -> None:
    """Draw what an open or unplayed string does, on the nut's side."""
    role = MARKS[sign].role
    along = UPRIGHT_EDGE - 1 if layout.upright else layout.wires[0] - 2
    x, y = layout.at(along, layout.lines[string - 1])
    canvas.centred(x, y, glyphs.mark(sign), Ink(role))
    if _has_words(layout):
        name = MARKS[sign].name
        canvas.put(layout.wires[0] - len(name), y + 1, name, Ink(role), word=True)


def edge_sign(before: Stop | None, after: Stop | None, *, damp: bool) -> Sign | None:
    """Return what an open or unplayed string does in a change; None where only fingers are concerned."""
    was_open = before is not None and not before.stopped
    is_open = after is not None and not after.stopped
    if is_open:
        return Sign.OPEN if was_open else Sign.OPENS
    if after is None:
        return Sign.DAMP if damp else Sign.MUTED
    return Sign.CLOSES if was_open else None


def draw_edges(canvas: Canvas, layout: Layout, glyphs: Glyphs, change: Change) -> None:
    """Draw which strings open, stay open, are stopped, are to be damped or are not played, and which ring through."""
    damped = {string for string, why in change.stops if why is Why.DAMP}
    for string in range(1, change.after.strings + 1):
        sign = edge_sign(change.before[string], change.after[string], damp=string in damped)
        if sign is not None:
            draw_edge(canvas, layout, glyphs, string, sign)
        if string in change.rings:
            draw_end(canvas, layout, string, glyphs.mark(Sign.RINGS), Role.DIM)
            if _has_words(layout):
                below = layout.lines[string - 1] + 1
                canvas.put(layout.wires[-1] + 1, below, MARKS[Sign.RINGS].name, Ink(Role.DIM), word=True)


def draw_shape_edges(canvas: Canvas, layout: Layout, glyphs: Glyphs, shape: Shape) -> None:
    """Draw which strings of one shape are open and which are not played."""
    for string in range(1, shape.strings + 1):
        sign = edge_sign(shape[string], shape[string], damp=False)
        if sign is not None:
            draw_edge(canvas, layout, glyphs, string, sign)


def draw_position(canvas: Canvas, layout: Layout, glyphs: Glyphs, old: int | None, new: int | None) -> None:
    """Draw the hand's position as a Roman numeral at its fret; a shift as old one, path and new one."""
    shown = layout.window.frets
    if old is not None and old != new and old in shown:
        _draw_beside(canvas, layout, old, f"({roman(old)})", Role.HAND)
    if new is not None and new in shown:
        shifts = old is not None and old != new
        _draw_beside(canvas, layout, new, f"[{roman(new)}]" if shifts else roman(new), Role.HAND)
    if old in shown and new in shown and old is not None and new is not None and old != new:
        _draw_shift(canvas, layout, glyphs, old, new)


def _draw_shift(canvas: Canvas, layout: Layout, glyphs: Glyphs, old: int, new: int) -> None:
    right, left, down, up = glyphs.heads
    ahead, back = (down, up) if layout.upright else (right, left)
    slide = glyphs.mark(Sign.SLIDE)[1]
    line = UPRIGHT_LINES[slide] if layout.upright else slide
    low, high = sorted((layout.middle(old), layout.middle(new)))
    cells = [at for along in range(low, high + 1) if canvas.is_blank(*(at := _beside(layout, along)))]
    for at in cells:
        canvas.put(*at, line, Ink(Role.HAND))
    if cells:
        canvas.put(*(cells[-1] if new > old else cells[0]), ahead if new > old else back, Ink(Role.HAND))


def _beside(layout: Layout, along: int) -> tuple[int, int]:
    """Return the cell beside the neck where fret numbers stand."""
    return (3, along) if layout.upright else (along, 0)


def _draw_beside(canvas: Canvas, layout: Layout, fret: int, text: str, role: Role) -> None:
    canvas.centred(*_beside(layout, layout.middle(fret)), text, Ink(role), word=True)


def _draw_strings(canvas: Canvas, layout: Layout, glyphs: Glyphs) -> None:
    glyph = UPRIGHT_LINES[glyphs.along] if layout.upright else glyphs.along
    for string, line in enumerate(layout.lines, start=1):
        ends = layout.at(layout.wires[0], line), layout.at(layout.wires[-1], line)
        canvas.line(*ends, glyph, Ink(Role.STRING, string=string))


def _draw_wire(canvas: Canvas, layout: Layout, glyphs: Glyphs, along: int, *, at_nut: bool) -> None:
    between, on_string = (glyphs.nut, glyphs.nut_crossing) if at_nut else (glyphs.wire, glyphs.crossing)
    if layout.upright:
        between, on_string = UPRIGHT_LINES[between], UPRIGHT_LINES.get(on_string, on_string)
    low, high = sorted((layout.lines[0], layout.lines[-1]))
    canvas.line(layout.at(along, low), layout.at(along, high), between, Ink(Role.FRET))
    for string, line in enumerate(layout.lines, start=1):
        canvas.put(*layout.at(along, line), on_string, Ink(Role.STRING, string=string))


def _has_words(layout: Layout) -> bool:
    return not layout.upright and layout.pitch >= _WORD_ROWS and layout.tier.mark[1] >= _WORD_ROWS
