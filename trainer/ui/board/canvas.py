"""The picture as a value, and the canvas it is drawn on. Knows cells, not guitars."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from rich.cells import cell_len

from trainer.ui.board.marks import MIRRORED, Role


class Fill(StrEnum):
    """How far a cell is filled with its colour, where there are colours."""

    NONE = "none"
    """Only the glyph is coloured."""
    TINT = "tint"
    """The ground is tinted, the glyph stays bright: for large figures."""
    SOLID = "solid"
    """The ground is filled and the glyph cut out: for single characters, and for what stays."""


@dataclass(frozen=True, slots=True)
class Ink:
    """What a cell is drawn with."""

    role: Role = Role.BLANK
    """Its colour role."""
    fill: Fill = Fill.NONE
    """How far it is filled with its colour."""
    string: int = 0
    """The string that this cell is part of, so that it can be lit; 0: none."""


_BLANK = Ink()


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring cells of one ink."""

    text: str
    """One character a cell, but for letters that are two cells wide and marks that have none of their own."""
    ink: Ink = _BLANK
    """Their ink."""
    word: bool = False
    """True where a mirror must not turn it round: numbers, names, big figures."""


@dataclass(frozen=True, slots=True)
class Picture:
    """Rows of runs. Every row is `width` cells."""

    width: int
    height: int
    rows: tuple[tuple[Run, ...], ...]
    """From the top; each from the left."""

    def mirrored(self) -> Picture:
        """Return the picture as a left-handed player sees it; mirrored twice it is the same again."""
        return replace(self, rows=tuple(tuple(_mirrored(run) for run in reversed(row)) for row in self.rows))

    def rows_of(self, string: int) -> tuple[int, ...]:
        """Return the rows that change when `string` is lit, from the top."""
        return tuple(y for y, row in enumerate(self.rows) if any(run.ink.string == string for run in row))


def lines(picture: Picture) -> list[str]:
    """Return the picture as plain text, one line a row, without blanks at the end."""
    return ["".join(run.text for run in row).rstrip() for row in picture.rows]


class Canvas:
    """A grid of cells to draw on; what lies outside it is not drawn."""

    def __init__(self, width: int, height: int) -> None:
        """Begin with `width` by `height` blanks."""
        self.width = width
        self.height = height
        self._glyphs = [[" "] * width for _ in range(height)]
        self._inks = [[_BLANK] * width for _ in range(height)]
        self._words = [[0] * width for _ in range(height)]
        self._word = 0

    def put(self, x: int, y: int, text: str, ink: Ink, *, word: bool = False) -> None:
        """Draw `text` from (x, y) to the right; as a word it keeps its reading order in a mirror."""
        if word:
            self._word += 1
        if not 0 <= y < self.height:
            return
        cells = _part(_cells(text), max(-x, 0), max(self.width - x, 0))
        x = max(x, 0)
        end = x + len(cells)
        self._glyphs[y][x:end] = cells
        self._inks[y][x:end] = [ink] * len(cells)
        self._words[y][x:end] = [self._word if word else 0] * len(cells)

    def line(self, start: tuple[int, int], end: tuple[int, int], glyph: str, ink: Ink) -> None:
        """Draw `glyph` on every cell from `start` to `end`, both included; one runs straight right or down."""
        (x1, y1), (x2, y2) = start, end
        for y in range(y1, y2 + 1):
            self.put(x1, y, glyph * (x2 - x1 + 1), ink)

    def centred(self, x: int, y: int, text: str, ink: Ink, *, word: bool = False) -> None:
        """Draw `text` with its middle at (x, y)."""
        self.put(x - len(text) // 2, y, text, ink, word=word)

    def paste(self, picture: Picture, x: int, y: int) -> None:
        """Draw a picture with its top left corner at (x, y)."""
        for row in picture.rows:
            column = x
            for run in row:
                self.put(column, y, run.text, run.ink, word=run.word)
                column += cell_len(run.text)
            y += 1

    def is_blank(self, x: int, y: int) -> bool:
        """Tell whether nothing was drawn at (x, y)."""
        return self._glyphs[y][x] == " "

    def picture(self) -> Picture:
        """Return what was drawn."""
        return Picture(self.width, self.height, tuple(tuple(self._runs(y)) for y in range(self.height)))

    def _runs(self, y: int) -> Iterator[Run]:
        glyphs, inks, words = self._glyphs[y], self._inks[y], self._words[y]
        begin = 0
        for x in range(1, self.width + 1):
            # The same object nearly always: comparing values is what costs time.
            if x < self.width and words[x] == words[begin] and (inks[x] is inks[begin] or inks[x] == inks[begin]):
                continue
            yield Run("".join(glyphs[begin:x]), inks[begin], bool(words[begin]))
            begin = x


@lru_cache(maxsize=4096)
def _cells(text: str) -> Sequence[str]:
    """Return what stands in each cell of `text`: nothing in the second one of a wide letter."""
    if text.isascii() or all(cell_len(character) == 1 for character in text):
        return text
    cells: list[str] = []
    for character in text:
        width = cell_len(character)
        if width == 0:
            # A mark that belongs to the letter before it.
            cells = cells or [" "]
            cells[-1 if cells[-1] else -2] += character
        else:
            cells += [character, *[""] * (width - 1)]
    return tuple(cells)


def _part(cells: Sequence[str], first: int, end: int) -> Sequence[str]:
    """Return some of the cells; of a letter that is cut in two nothing is left but its room."""
    part = cells[first:end]
    if isinstance(part, str) or not part:
        return part
    whole = [*part]
    whole[0] = whole[0] or " "
    whole[-1] = " " if cell_len(whole[-1]) > 1 else whole[-1]
    return whole


def _mirrored(run: Run) -> Run:
    if run.word:
        return run
    return replace(run, text="".join(MIRRORED.get(glyph, glyph) for glyph in reversed(run.text)))
