"""Draw a change on a neck that is seen from the back of a room: fingers as blocks, their ways as broad lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from trainer.fretboard.shape import Barre, Shape
from trainer.hand.change import BarreMove, Change
from trainer.ui.board import blocks
from trainer.ui.board.canvas import Canvas, Fill, Ink, Picture
from trainer.ui.board.marks import MARKS, Glyphs, Role, Sign
from trainer.ui.board.neck import edge_sign
from trainer.ui.board.picture import Look, Mode
from trainer.ui.board.signs import Placed, Way, arriving, held, in_place, leaving, remaining, ways
from trainer.ui.figures import figures
from trainer.ui.room.neck import Neck, edge

_HOLLOW = frozenset({Sign.LEAVE, Sign.LIFT})
"""Marks of fingers that are not going to be there: never filled."""
_Head: TypeAlias = tuple[tuple[int, int], tuple[int, int], Ink]
"""Where an arrow head is, the middle of the mark that it points into, and its ink."""
_STRIDE = 2
"""Cells between two dots of a way through the air, times the scale."""


def draw(neck: Neck, change: Change, look: Look) -> Picture:
    """Return the picture of `change`, as much of it as `look` shows."""
    pen = _Pen(Canvas(neck.width, neck.height), neck, look.glyphs)
    pen.neck_itself()
    if look.mode is Mode.CHANGE:
        pen.edges(change.before, change.after)
        pen.movement(change)
    elif look.mode is Mode.SHAPE:
        pen.edges(change.before, change.before)
        pen.shape(change.before)
    picture = pen.canvas.picture()
    return picture.mirrored() if look.left_handed else picture


@dataclass(frozen=True, slots=True)
class _Pen:
    canvas: Canvas
    neck: Neck
    glyphs: Glyphs

    def neck_itself(self) -> None:
        """Draw strings, wires and fret numbers."""
        neck, glyphs = self.neck, self.glyphs
        top, foot = neck.lines[0], neck.lines[-1]
        for line in neck.lines:
            self.canvas.line((neck.wires[0], line), (neck.wires[-1], line), glyphs.along, Ink(Role.STRING))
        for number, x in enumerate(neck.wires):
            nut = number == 0 and neck.window.first == 1
            self.canvas.line((x, top), (x, foot), glyphs.nut if nut else glyphs.wire, Ink(Role.FRET))
            for line in neck.lines:
                self.canvas.put(x, line, glyphs.nut_crossing if nut else glyphs.crossing, Ink(Role.STRING))
        for fret, left, right in zip(neck.window.frets, neck.wires, neck.wires[1:], strict=False):
            rows = figures(str(fret), 1, fine=glyphs.fine) if neck.head > 1 else (str(fret),)
            for y, row in enumerate(rows):
                self.canvas.centred((left + right) // 2, y, row, Ink(Role.BLANK), word=True)

    def edges(self, before: Shape, after: Shape) -> None:
        """Draw which strings are open or not played, and what becomes of those that were open."""
        scale = self.neck.scale - 1
        width, height = blocks.size(scale)
        for string, line in enumerate(self.neck.lines, start=1):
            sign = edge_sign(before[string], after[string], damp=False)
            if sign is None:
                continue
            sides = self.glyphs.mark(sign)
            rows = blocks.block(blocks.MUTED if sign is Sign.MUTED else blocks.OPEN, scale, fine=self.glyphs.fine)
            ink, y = Ink(MARKS[sign].role), line - height // 2
            for number, row in enumerate(rows):
                self.canvas.put(0, y + number, sides[0], ink)
                self.canvas.put(1, y + number, row, ink, word=True)
                self.canvas.put(1 + width, y + number, sides[-1], ink)

    def shape(self, shape: Shape) -> None:
        """Draw one shape without movement."""
        for barre in shape.barres:
            self._bar(Sign.BAR_STAYS, barre, going=False)
        for one in held(shape):
            self._mark(self.neck.going_to(*one.place), one)

    def movement(self, change: Change) -> None:
        """Draw what goes, the ways, what comes, so that nothing hides a finger that is going to be there."""
        for barre in change.barres:
            self._bars(barre)
        # Heads after all ways: where two ways cross, each still says where it leads.
        for head in [self._way(way) for way in ways(change)]:
            if head is not None:
                self._head(*head)
        for one in leaving(change):
            self._mark(self.neck.coming_from(*one.place), one)
        for one in arriving(change):
            self._mark(self.neck.going_to(*one.place), one)

    def _mark(self, centre: tuple[int, int], one: Placed) -> None:
        """Draw a mark; a filled one is a solid block with the number cut out and a rim above and below."""
        sign, role = one.sign, one.role
        hollow = sign in _HOLLOW
        scale = self.neck.scale - 1 if hollow else self.neck.scale
        width, height = self.neck.leaving if hollow else self.neck.mark
        sample = self.glyphs.mark(sign)
        solid = sign is Sign.KEPT
        inside = Ink(role) if hollow or solid else Ink(role, Fill.SOLID)
        ground = sample[0] if solid else " "
        x, y = centre[0] - width // 2, centre[1] - height // 2
        rows = blocks.block(one.finger, scale, fine=self.glyphs.fine, cut_out=solid)
        for number, row in enumerate(rows):
            self.canvas.put(x, y + number, ground * width, inside)
            for side, glyph in ((0, sample[0]), (width - edge(scale), sample[-1])):
                self.canvas.put(x + side, y + number, glyph * edge(scale), inside)
            self.canvas.centred(centre[0], y + number, row, inside, word=True)
        if self.glyphs.fine and not hollow:
            self.canvas.put(x, y - 1, "▄" * width, Ink(role))
            self.canvas.put(x, y + height, "▀" * width, Ink(role))

    def _way(self, way: Way) -> _Head | None:
        """Draw the way of a finger, broad along its string, dotted through the air; return the head it ends in."""
        start, end = self.neck.coming_from(*way.start), self.neck.going_to(*way.end)
        free = [at for at in _between(start, end) if self._free(at, start, end)]
        if not free:
            return None
        broad, ink = self.neck.scale - 1, Ink(way.role)
        glyph = self.glyphs.mark(way.sign)[1]
        if way.sign is Sign.AIR:
            for x, y in free[:: _STRIDE * broad]:
                self.canvas.put(x, y, glyph * broad, ink)
        else:
            for x, y in free:
                for row in range(broad):
                    self.canvas.put(x, y + row - broad // 2, glyph, ink)
        return free[-1], end, ink

    def _head(self, at: tuple[int, int], end: tuple[int, int], ink: Ink) -> None:
        """Draw an arrow head as high as the way is broad, pointing into the mark at `end`."""
        right, left, down, up = self.glyphs.heads
        broad = self.neck.scale - 1
        if abs(at[1] - end[1]) > self.neck.mark[1] // 2:
            glyph = (down if at[1] < end[1] else up) * (2 * broad - 1)
            self.canvas.centred(at[0], at[1], glyph, ink)
            return
        for row in range(broad):
            self.canvas.put(at[0], at[1] + row - broad // 2, right if at[0] < end[0] else left, ink)

    def _free(self, at: tuple[int, int], start: tuple[int, int], end: tuple[int, int]) -> bool:
        """Tell whether `at` is outside the marks at both ends, the rims of the one that is reached included."""
        (width, height), (x, y) = self.neck.mark, end
        rimmed = _within(at, (x, y - height // 2 + (height + 2) // 2 - 1), (width, height + 2))
        return not (rimmed or _within(at, start, self.neck.leaving))

    def _bars(self, move: BarreMove) -> None:
        if move.start is not None:
            self._bar(Sign.BAR_GOES, move.start, going=not in_place(move))
        for sign, barre in ((Sign.BAR_COMES, move.end), (Sign.BAR_STAYS, remaining(move))):
            if barre is not None:
                self._bar(sign, barre, going=False)

    def _bar(self, sign: Sign, barre: Barre, *, going: bool) -> None:
        if barre.width < 2:
            return
        centre = self.neck.coming_from if going else self.neck.going_to
        (x, top), (_, foot) = centre(barre.high_string, barre.fret), centre(barre.low_string, barre.fret)
        half = (self.neck.leaving if going else self.neck.mark)[1] // 2
        glyphs = self.glyphs.mark(sign)[1] * (2 * self.neck.scale - 1)
        for y in range(top - half, foot + half + 1):
            self.canvas.centred(x, y, glyphs, Ink(MARKS[sign].role))


def _between(start: tuple[int, int], end: tuple[int, int]) -> Iterator[tuple[int, int]]:
    """Yield the cells of a straight line, both ends included."""
    (x1, y1), (x2, y2) = start, end
    steps = max(abs(x2 - x1), abs(y2 - y1), 1)
    return ((x1 + round((x2 - x1) * n / steps), y1 + round((y2 - y1) * n / steps)) for n in range(steps + 1))


def _within(at: tuple[int, int], centre: tuple[int, int], size: tuple[int, int]) -> bool:
    left, top = centre[0] - size[0] // 2, centre[1] - size[1] // 2
    return left <= at[0] < left + size[0] and top <= at[1] < top + size[1]
