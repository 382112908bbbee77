"""Diagrams drawn as SVG, in black and greys only; nothing in them is told by shade alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from types import MappingProxyType

from trainer.errors import plain
from trainer.hand.words import roman
from trainer.sheets.diagram import Diagram, Kind, Mark

STRING, FRET = 22, 27
"""Distance between two strings and between two frets, in the units of the drawing."""
_DOT = 8.0
_LEFT_EDGE, _TOP, _BOTTOM = 32, 22, 8
_INK, _SHADE = "#000", "#777"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawn diagram: the elements, without an `svg` around them, and their size."""

    elements: str
    """SVG elements."""
    width: int
    """In the units of the drawing."""
    height: int
    """Likewise."""

    def standalone(self, title: str) -> str:
        """Return it as an `svg` element with a title for those who do not see it."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" role="img"'
            f' width="{self.width}" height="{self.height}"><title>{text(title)}</title>{self.elements}</svg>'
        )


def text(value: str) -> str:
    """Return text from anywhere as it may stand in HTML or SVG: control characters shown, markup escaped."""
    return escape(plain(value))


def draw(diagram: Diagram, *, left_handed: bool = False) -> Drawing:
    """Return `diagram` drawn upright, the last string on the left; mirrored for a left-handed player."""
    grid = _Grid(diagram, left_handed)
    parts = [*_neck(grid), *(part for mark in diagram.marks for part in _DRAWN[mark.kind](grid, mark))]
    width = _LEFT_EDGE * 2 + STRING * (diagram.strings - 1)
    return Drawing("".join(parts), width, _TOP + FRET * diagram.frets + _BOTTOM)


@dataclass(frozen=True, slots=True)
class _Grid:
    diagram: Diagram
    left_handed: bool

    def x(self, string: int) -> float:
        place = string - 1 if self.left_handed else self.diagram.strings - string
        return _LEFT_EDGE + STRING * place

    def y(self, fret: int) -> float:
        """Return the middle of a fret's space; beyond the edge that is shown for a fret that is not."""
        shown = min(max(fret, self.diagram.first - 1), self.diagram.last + 1)
        if shown < self.diagram.first:
            return _TOP - 10.0
        return _TOP + FRET * (shown - self.diagram.first + 0.5) - (FRET / 2 - 3 if shown > self.diagram.last else 0)


def _neck(grid: _Grid) -> list[str]:
    diagram = grid.diagram
    left, right = sorted((grid.x(1), grid.x(diagram.strings)))
    bottom = _TOP + FRET * diagram.frets
    parts = [_line(grid.x(string), _TOP, grid.x(string), bottom, 1.0) for string in range(1, diagram.strings + 1)]
    for number in range(diagram.frets + 1):
        y = _TOP + FRET * number
        nut = number == 0 and diagram.first == 1
        parts.append(_line(left - (2 if nut else 0), y, right + (2 if nut else 0), y, 4.0 if nut else 1.0))
    if diagram.first > 1:
        parts.append(_word(left - 14, grid.y(diagram.first) + 4, roman(diagram.first), 12))
    return parts


def _muted(grid: _Grid, mark: Mark) -> list[str]:
    x, y, arm = grid.x(mark.string), _TOP - 10, 4
    return [_line(x - arm, y - arm, x + arm, y + arm, 1.5), _line(x - arm, y + arm, x + arm, y - arm, 1.5)]


def _open(grid: _Grid, mark: Mark) -> list[str]:
    return [_circle(grid.x(mark.string), _TOP - 10, 4.5, "none")]


def _barre(grid: _Grid, mark: Mark) -> list[str]:
    left, right = sorted((grid.x(mark.string), grid.x(mark.to_string)))
    y = grid.y(mark.fret)
    bar = (
        f'<rect x="{left - _DOT:g}" y="{y - _DOT:g}" width="{right - left + 2 * _DOT:g}" height="{2 * _DOT:g}"'
        f' rx="{_DOT:g}" fill="{_INK}"/>'
    )
    return [bar, _number(left, y, mark.finger), *_staying(grid, mark, left)]


def _finger(grid: _Grid, mark: Mark) -> list[str]:
    x, y = grid.x(mark.string), grid.y(mark.fret)
    return [_circle(x, y, _DOT, _INK), _number(x, y, mark.finger), *_staying(grid, mark, x)]


def _resting(grid: _Grid, mark: Mark) -> list[str]:
    x, y = grid.x(mark.string), grid.y(mark.fret)
    name = "" if mark.finger is None else _word(x, y + 4, str(mark.finger), 12)
    return [_circle(x, y, _DOT, "#fff", dashed=True), name, *_staying(grid, mark, x)]


def _staying(grid: _Grid, mark: Mark, x: float) -> list[str]:
    """Draw a ring around a finger that stays down."""
    return [_circle(x, grid.y(mark.fret), _DOT + 2.5, "none")] if mark.kept else []


def _way(grid: _Grid, mark: Mark) -> list[str]:
    """Draw an arrow from where a finger comes from to its edge: whole where it slides, dashed through the air."""
    x0, y0 = grid.x(mark.to_string), grid.y(mark.from_fret)
    x1, y1 = grid.x(mark.string), grid.y(mark.fret)
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 or 1.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    tip_x, tip_y = x1 - ux * (_DOT + 1), y1 - uy * (_DOT + 1)
    slides = mark.kind is Kind.GUIDE
    head = " ".join(
        f"{px:.1f},{py:.1f}"
        for px, py in (
            (tip_x, tip_y),
            (tip_x - 7 * ux - 4 * uy, tip_y - 7 * uy + 4 * ux),
            (tip_x - 7 * ux + 4 * uy, tip_y - 7 * uy - 4 * ux),
        )
    )
    start = "" if _out_of_sight(grid, mark.from_fret) else _circle(x0, y0, 2.5, _SHADE)
    line = _line(x0, y0, tip_x - 5 * ux, tip_y - 5 * uy, 3.0 if slides else 1.5, dashed=not slides)
    return [start, line, f'<polygon points="{head}" fill="{_INK}"/>']


def _out_of_sight(grid: _Grid, fret: int) -> bool:
    return not grid.diagram.first <= fret <= grid.diagram.last


def _left(grid: _Grid, mark: Mark) -> list[str]:
    if _out_of_sight(grid, mark.fret):
        return []
    x, y = grid.x(mark.string), grid.y(mark.fret)
    return [_circle(x, y, 3.5, "#fff", stroke=_SHADE), _line(x - 6, y + 6, x + 6, y - 6, 1.2, stroke=_SHADE)]


_DRAWN: Mapping[Kind, Callable[[_Grid, Mark], list[str]]] = MappingProxyType(
    {
        Kind.MUTED: _muted,
        Kind.OPEN: _open,
        Kind.BARRE: _barre,
        Kind.FINGER: _finger,
        Kind.RESTING: _resting,
        Kind.GUIDE: _way,
        Kind.CROSS: _way,
        Kind.LEFT: _left,
    }
)
"""How each kind of mark is drawn."""


def _line(x0: float, y0: float, x1: float, y1: float, width: float, *, dashed: bool = False, stroke: str = _INK) -> str:
    dash = ' stroke-dasharray="4 3"' if dashed else ""
    return (
        f'<line x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"'
        f' stroke="{stroke}" stroke-width="{width:g}"{dash}/>'
    )


def _circle(x: float, y: float, radius: float, fill: str, *, dashed: bool = False, stroke: str = _INK) -> str:
    dash = ' stroke-dasharray="3 2"' if dashed else ""
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{stroke}" stroke-width="1.4"{dash}/>'
    )


def _number(x: float, y: float, finger: int | None) -> str:
    return "" if finger is None else _word(x, y + 4, str(finger), 12, fill="#fff")


def _word(x: float, y: float, word: str, size: int, fill: str = _INK) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{size}" font-weight="bold"'
        f' text-anchor="middle" fill="{fill}">{word}</text>'
    )
