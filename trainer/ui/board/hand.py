"""Draw what the fretting hand does: fingers where they stay, leave and arrive, their paths, and barres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.fretboard.shape import Barre, Shape
from trainer.hand.change import Action, BarreAction, BarreMove, Change, Place
from trainer.ui.board.canvas import Canvas, Fill, Ink
from trainer.ui.board.finger_mark import draw_cap, draw_mark
from trainer.ui.board.layout import Layout, Point
from trainer.ui.board.marks import MARKS, UPRIGHT_LINES, Glyphs, Role, Sign
from trainer.ui.board.signs import (
    Placed,
    Way,
    arriving,
    held,
    in_place,
    leaving,
    remaining,
    slide_sign,
    stays_at,
    ways,
)


@dataclass(frozen=True, slots=True)
class Pen:
    """What every drawing function needs."""

    canvas: Canvas
    layout: Layout
    glyphs: Glyphs


def draw_change(pen: Pen, change: Change) -> None:
    """Draw a change: what goes, paths, bars, then marks, so that nothing hides a finger's number."""
    for barre in change.barres:
        _draw_bar_going(pen, barre)
        _draw_bar_slide(pen, barre, change)
    for way in ways(change):
        _draw_way(pen, way)
    for barre in change.barres:
        _draw_bar_coming(pen, barre)
    for move in change.doing(Action.KEPT):
        centre = pen.layout.going_to(*stays_at(move, change))
        draw_cap(pen.canvas, centre, pen.layout.tier.mark, pen.glyphs, Role.KEPT)
    for one in leaving(change):
        _mark(pen, pen.layout.coming_from(*one.place), one, pen.layout.tier.leaving)
    for one in arriving(change):
        _draw_arriving(pen, one, change)
    _draw_watch(pen, change)


def draw_shape(pen: Pen, shape: Shape) -> None:
    """Draw one shape without movement."""
    for barre in shape.barres:
        _bar(pen, Sign.BAR_STAYS, barre, pen.layout.going_to)
    for one in held(shape):
        _mark(pen, pen.layout.going_to(*one.place), one, pen.layout.tier.mark)


def _mark(pen: Pen, centre: Point, one: Placed, size: tuple[int, int]) -> None:
    draw_mark(pen.canvas, centre, one.finger, one.sign, size, pen.glyphs, one.role)


def _draw_arriving(pen: Pen, one: Placed, change: Change) -> None:
    """Draw where a finger stays or comes to; where one mark must do for two fingers, both numbers stand in it."""
    centre = pen.layout.going_to(*one.place)
    old = _left_by(one.place, change, one.finger)
    if pen.layout.tier.single and old is not None:
        text = f"{old}{pen.glyphs.mark(one.sign)[0]}{one.finger}"
        pen.canvas.centred(*centre, text, Ink(one.role, Fill.SOLID))
        return
    _mark(pen, centre, one, pen.layout.tier.mark)


def _left_by(place: Place, change: Change, finger: str) -> int | None:
    """Return the finger that leaves `place` as another one comes to it."""
    return next((move.finger for move in change.moves if move.start == place and str(move.finger) != finger), None)


def _draw_watch(pen: Pen, change: Change) -> None:
    """Flag the finger to watch, on the side of its mark where no path comes in."""
    if change.watch is None:
        return
    move = change.move(change.watch)
    if move.end is None:
        return
    place = stays_at(move, change) if move.action is Action.KEPT else move.end
    x, y = pen.layout.going_to(*place)
    from_right = move.start is not None and pen.layout.coming_from(*move.start)[0] > x
    side = -1 if from_right else 1
    x += side * (pen.layout.tier.mark[0] // 2 + 1)
    pen.canvas.put(x, y, pen.glyphs.mark(Sign.WATCH)[1], Ink(MARKS[Sign.WATCH].role, Fill.SOLID))


def _draw_way(pen: Pen, way: Way) -> None:
    start, end = pen.layout.coming_from(*way.start), pen.layout.going_to(*way.end)
    if way.sign is Sign.AIR:
        _air(pen, start, end, way.role)
    else:
        _slide(pen, start, end, way.sign)


def _slide(pen: Pen, start: Point, end: Point, sign: Sign, reach: tuple[int, int] | None = None) -> None:
    """Draw an unbroken path along a string, finger on the string.

    `reach` is how far what lies at its two ends extends from the middle; None: as far as a finger's marks.
    """
    axis, tier = (1 if pen.layout.upright else 0), pen.layout.tier
    near, far = reach or (tier.leaving[axis] // 2, tier.mark[axis] // 2)
    ahead = 1 if end[axis] > start[axis] else -1
    glyph = pen.glyphs.mark(sign)[1]
    glyph = UPRIGHT_LINES.get(glyph, glyph) if pen.layout.upright else glyph
    cells = range(start[axis] + ahead * (near + 1), end[axis] - ahead * far, ahead)
    if not cells:
        return
    ink, line = Ink(MARKS[sign].role), start[1 - axis]
    first, last, tip = (
        (line, cell) if pen.layout.upright else (cell, line) for cell in (min(cells), max(cells), cells[-1])
    )
    pen.canvas.line(first, last, glyph, ink)
    pen.canvas.put(*tip, _head(pen, tip, end), ink)


def _air(pen: Pen, start: Point, end: Point, role: Role) -> None:
    """Draw a straight dotted path through the air, its arrow head touching the mark at `end`."""
    ends = _beside_marks(pen, start, end) or _between_marks(pen, start, end)
    if ends is None:
        return
    (x1, y1), (x2, y2) = ends
    steps = max(abs(x2 - x1) // 2, abs(y2 - y1), 1)
    for step in range(steps):
        at = x1 + round((x2 - x1) * step / steps), y1 + round((y2 - y1) * step / steps)
        pen.canvas.put(*at, pen.glyphs.mark(Sign.AIR)[1], Ink(role))
    pen.canvas.put(x2, y2, _head(pen, (x2, y2), end), Ink(role))


def _beside_marks(pen: Pen, start: Point, end: Point) -> tuple[Point, Point] | None:
    """Return the cells from beside one mark to beside the other; None where no column is free between them."""
    ahead = 1 if end[0] > start[0] else -1
    first = start[0] + ahead * (pen.layout.tier.leaving[0] // 2 + 1)
    last = end[0] - ahead * (pen.layout.tier.mark[0] // 2 + 1)
    return ((first, start[1]), (last, end[1])) if ahead * (last - first) >= 0 else None


def _between_marks(pen: Pen, start: Point, end: Point) -> tuple[Point, Point] | None:
    """Return the cells from below or above one mark to the other; None where no row is free between them."""
    ahead = 1 if end[1] > start[1] else -1
    first = start[1] + ahead * (pen.layout.tier.leaving[1] // 2 + 1)
    last = end[1] - ahead * (pen.layout.tier.mark[1] // 2 + 1)
    return ((start[0], first), (end[0], last)) if ahead * (last - first) >= 0 else None


def _head(pen: Pen, at: Point, end: Point) -> str:
    """Return the arrow head at `at` that points into the mark at `end`."""
    right, left, down, up = pen.glyphs.heads
    if abs(at[1] - end[1]) > pen.layout.tier.mark[1] // 2:
        return down if at[1] < end[1] else up
    return right if at[0] < end[0] else left


def _draw_bar_going(pen: Pen, move: BarreMove) -> None:
    """Draw the bar that is left; at a fret where it goes on holding, in place, else where fingers leave from."""
    if move.start is not None:
        _bar(pen, Sign.BAR_GOES, move.start, pen.layout.going_to if in_place(move) else pen.layout.coming_from)


def _draw_bar_coming(pen: Pen, move: BarreMove) -> None:
    """Draw the bar that comes, and over it what of the old one stays."""
    for sign, barre in ((Sign.BAR_COMES, move.end), (Sign.BAR_STAYS, remaining(move))):
        if barre is not None:
            _bar(pen, sign, barre, pen.layout.going_to)


def _bar(pen: Pen, sign: Sign, barre: Barre, centre: Callable[[int, int], Point]) -> None:
    if barre.width < 2:
        return
    sample = pen.glyphs.mark(sign)
    ink = Ink(MARKS[sign].role)
    first, last = centre(barre.high_string, barre.fret), centre(barre.low_string, barre.fret)
    if pen.layout.upright:
        left, right = sorted((first[0], last[0]))
        pen.canvas.put(left - 1, first[1], sample[1] * (right - left + 3), ink)
        return
    reach = pen.layout.tier.mark[1] // 2
    for y in range(first[1] - reach, last[1] + reach + 1):
        pen.canvas.centred(first[0], y, sample, ink)


def _draw_bar_slide(pen: Pen, move: BarreMove, change: Change) -> None:
    """Draw the path of a barre that slides along both ends of what it goes on holding."""
    start, end = move.start, move.end
    if BarreAction.SLID not in move.actions or start is None or end is None:
        return
    both = [string for string in start.strings if string in end.strings]
    for string in (min(both), max(both)):
        ends = pen.layout.coming_from(string, start.fret), pen.layout.going_to(string, end.fret)
        _slide(pen, *ends, slide_sign(string, change), (0, 0) if pen.layout.upright else (1, 1))
