"""Draw a change on a neck that is seen from the back of a room: fingers as blocks, their ways as broad lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from trainer.fretboard.shape import Barre, Shape
from trainer.hand.change import Action, BarreAction, BarreMove, Change, Move
from trainer.ui.board import blocks
from trainer.ui.board.blocks import ANY_FINGER
from trainer.ui.board.canvas import Canvas, Fill, Ink, Picture
from trainer.ui.board.marks import ARRIVALS, MARKS, Glyphs, Role, Sign
from trainer.ui.board.neck import edge_sign
from trainer.ui.board.picture import Look, Mode
from trainer.ui.room.neck import Neck, edge
from trainer.ui.widgets.figures import figures

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
        for string, stop in shape:
            if stop.stopped and stop.finger is None:
                self._mark(self.neck.going_to(string, stop.fret), ANY_FINGER, Sign.HELD)
        for placing in shape.placings.values():
            self._mark(self.neck.going_to(*placing.place), str(placing.finger), Sign.HELD)

    def movement(self, change: Change) -> None:
        """Draw what goes, the ways, what comes, so that nothing hides a finger that is going to be there."""
        for barre in change.barres:
            self._bars(barre)
        # Heads after all ways: where two ways cross, each still says where it leads.
        for head in [self._way(move, change) for move in change.moves]:
            if head is not None:
                self._head(*head)
        for move in change.moves:
            self._leaves(move)
        self._nameless(change)
        hinges = {barre.end.finger for barre in change.barres if barre.end and BarreAction.HINGED in barre.actions}
        for move in change.moves:
            if move.end is not None:
                sign = ARRIVALS.get(move.action, Sign.HELD)
                kept = sign is Sign.KEPT
                place = _kept_place(move, change) if kept else move.end
                sign = Sign.HINGE if kept and move.finger in hinges else sign
                self._mark(self.neck.going_to(*place), str(move.finger), sign)

    def _leaves(self, move: Move) -> None:
        if move.start is None or move.action is Action.KEPT:
            return
        sign = Sign.LIFT if move.action is Action.LIFT else Sign.LEAVE
        role = MARKS[ARRIVALS[move.action]].role if move.action in ARRIVALS else MARKS[sign].role
        self._mark(self.neck.coming_from(*move.start), str(move.finger), sign, role)

    def _nameless(self, change: Change) -> None:
        """Draw the stopped strings that say no finger: where they were, and where they are going to be."""
        for string, stop in change.before:
            after = change.after[string]
            if stop.stopped and stop.finger is None and not (after is not None and after.fret == stop.fret):
                self._mark(self.neck.coming_from(string, stop.fret), ANY_FINGER, Sign.LEAVE)
        for string, stop in change.after:
            if stop.stopped and stop.finger is None:
                self._mark(self.neck.going_to(string, stop.fret), ANY_FINGER, Sign.HELD)

    def _mark(self, centre: tuple[int, int], digit: str, sign: Sign, role: Role | None = None) -> None:
        """Draw a mark; a filled one is a solid block with the number cut out and a rim above and below."""
        hollow = sign in _HOLLOW
        scale = self.neck.scale - 1 if hollow else self.neck.scale
        width, height = self.neck.leaving if hollow else self.neck.mark
        sample, role = self.glyphs.mark(sign), role or MARKS[sign].role
        solid = sign is Sign.KEPT
        inside = Ink(role) if hollow or solid else Ink(role, Fill.SOLID)
        ground = sample[0] if solid else " "
        x, y = centre[0] - width // 2, centre[1] - height // 2
        rows = blocks.block(digit, scale, fine=self.glyphs.fine, cut_out=solid)
        for number, row in enumerate(rows):
            self.canvas.put(x, y + number, ground * width, inside)
            for side, glyph in ((0, sample[0]), (width - edge(scale), sample[-1])):
                self.canvas.put(x + side, y + number, glyph * edge(scale), inside)
            self.canvas.centred(centre[0], y + number, row, inside, word=True)
        if self.glyphs.fine and not hollow:
            self.canvas.put(x, y - 1, "▄" * width, Ink(role))
            self.canvas.put(x, y + height, "▀" * width, Ink(role))

    def _way(self, move: Move, change: Change) -> _Head | None:
        """Draw the way of a finger, broad along its string, dotted through the air; return the head it ends in."""
        if move.start is None or move.end is None or move.action in {Action.KEPT, Action.UNKNOWN}:
            return None
        start, end = self.neck.coming_from(*move.start), self.neck.going_to(*move.end)
        free = [at for at in _between(start, end) if self._free(at, start, end)]
        if not free:
            return None
        broad = self.neck.scale - 1
        if move.action is Action.GUIDE:
            sign = Sign.SQUEAK if move.start[0] in change.squeaks else Sign.SLIDE
            ink = Ink(MARKS[sign].role)
            for x, y in free:
                for row in range(broad):
                    self.canvas.put(x, y + row - broad // 2, self.glyphs.mark(sign)[1], ink)
        else:
            ink = Ink(MARKS[ARRIVALS[move.action]].role)
            for x, y in free[:: _STRIDE * broad]:
                self.canvas.put(x, y, self.glyphs.mark(Sign.AIR)[1] * broad, ink)
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
        start, end = move.start, move.end
        stays = start is not None and end is not None and start.fret == end.fret
        if start is not None:
            self._bar(Sign.BAR_GOES, start, going=not stays)
        if end is None:
            return
        self._bar(Sign.BAR_COMES, end, going=False)
        if stays and start is not None:
            low, high = min(start.low_string, end.low_string), max(start.high_string, end.high_string)
            if low > high:
                self._bar(Sign.BAR_STAYS, Barre(end.finger, end.fret, low, high), going=False)

    def _bar(self, sign: Sign, barre: Barre, *, going: bool) -> None:
        if barre.width < 2:
            return
        centre = self.neck.coming_from if going else self.neck.going_to
        (x, top), (_, foot) = centre(barre.high_string, barre.fret), centre(barre.low_string, barre.fret)
        half = (self.neck.leaving if going else self.neck.mark)[1] // 2
        glyphs = self.glyphs.mark(sign)[1] * (2 * self.neck.scale - 1)
        for y in range(top - half, foot + half + 1):
            self.canvas.centred(x, y, glyphs, Ink(MARKS[sign].role))


def _kept_place(move: Move, change: Change) -> tuple[int, int]:
    """Return where to show that a finger stays: on a string that it holds before and after."""
    before, after = change.before.placings[move.finger], change.after.placings[move.finger]
    both = [string for string in after.strings if string in before.strings]
    return (after.anchor if after.anchor in both else max(both)), after.fret


def _between(start: tuple[int, int], end: tuple[int, int]) -> Iterator[tuple[int, int]]:
    """Yield the cells of a straight line, both ends included."""
    (x1, y1), (x2, y2) = start, end
    steps = max(abs(x2 - x1), abs(y2 - y1), 1)
    return ((x1 + round((x2 - x1) * n / steps), y1 + round((y2 - y1) * n / steps)) for n in range(steps + 1))


def _within(at: tuple[int, int], centre: tuple[int, int], size: tuple[int, int]) -> bool:
    left, top = centre[0] - size[0] // 2, centre[1] - size[1] // 2
    return left <= at[0] < left + size[0] and top <= at[1] < top + size[1]
