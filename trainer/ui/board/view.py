"""What the board's widgets share: a picture shown row by row with the Line API, colours from component classes."""

from __future__ import annotations

from typing import ClassVar

from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.reactive import var
from textual.strip import Strip
from textual.widget import Widget

from trainer.ui.board.canvas import Fill, Ink, Picture, Run
from trainer.ui.board.marks import Role
from trainer.ui.board.picture import Look

_SOLID = Style(reverse=True)
"""Fills a mark with its colour, the glyphs cut out; without colours the terminal's own two are exchanged."""
_TINT = 0.28
"""How much of its colour a tinted ground takes; by eye, on a dark and on a light theme."""


class PictureView(Widget):
    """Shows a picture in the middle of its room; a row is rendered again only where it changed."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"board--{role}" for role in Role}
    DEFAULT_CSS = """
    PictureView {
        .board--blank { color: $text; }
        .board--kept { color: $kept; text-style: bold; }
        .board--guide { color: $guide; text-style: bold; }
        .board--swap { color: $cross; text-style: bold; }
        .board--cross { color: $cross; text-style: bold; }
        .board--place { color: $place; text-style: bold; }
        .board--lift { color: $lift; text-style: bold; }
        .board--barre { color: $barre; }
        .board--held { color: $accent; text-style: bold; }
        .board--hand { color: $accent; text-style: bold; }
        .board--open { color: $text; text-style: bold; }
        .board--string { color: $dim; }
        .board--fret { color: $dim; }
        .board--dim { color: $dim; }
        .board--heard { color: $good; text-style: bold; }
        .board--wrong { color: $error; text-style: bold; }
        .board--missing { color: $warn; text-style: bold; }
    }
    """

    look: var[Look] = var(Look(), init=False)
    """Glyphs, side, orientation and how much is shown."""

    def __init__(self, look: Look | None = None, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - Textual's own name for it
        """Begin without a picture."""
        super().__init__(id=id, classes=classes)
        self._picture: Picture | None = None
        self._strips: dict[int, Strip] = {}
        self._styles: dict[tuple[Role, Fill], Style] = {}
        self._stale = True
        if look is not None:
            self.set_reactive(PictureView.look, look)

    def draw_picture(self, width: int, height: int) -> Picture | None:
        """Return the picture for a room of `width` by `height` cells, None where there is nothing to show."""
        raise NotImplementedError

    def picture_row(self, row: tuple[Run, ...]) -> tuple[Run, ...]:
        """Return `row` as it is to be shown now."""
        return row

    def empty_words(self) -> str:
        """Return what to say in place of a picture."""
        return ""

    @property
    def picture(self) -> Picture | None:
        """The picture shown, drawn now where it is not drawn yet."""
        if self._stale:
            self._stale = False
            self._strips.clear()
            self._picture = self.draw_picture(*self.content_size)
        return self._picture

    def redraw(self) -> None:
        """Draw everything anew on the next frame."""
        self._stale = True
        self.refresh()

    def refresh_rows(self, string: int) -> None:
        """Render again, on the next frame, the rows that show `string`, and no others."""
        picture = self.picture
        if picture is None:
            return
        top = self._margins(picture)[1]
        for row in picture.rows_of(string):
            self._strips.pop(top + row, None)
            self.refresh(Region(0, top + row, self.content_size.width, 1))

    def render_line(self, y: int) -> Strip:
        """Return one row of the widget's content."""
        picture = self.picture
        strip = self._strips.get(y)
        if strip is None:
            strip = self._strips[y] = self._empty_row(y) if picture is None else self._row(picture, y)
        return strip

    def notify_style_update(self) -> None:
        """Forget what was rendered in the old colours."""
        super().notify_style_update()
        self._strips.clear()
        self._styles.clear()

    def on_unmount(self) -> None:
        """Let go of the lines that were drawn, as a screen does."""
        self.refresh()

    def on_resize(self) -> None:
        """Draw for the new room."""
        self.redraw()

    def watch_look(self) -> None:
        """Draw in the new look."""
        self.redraw()

    def _margins(self, picture: Picture) -> tuple[int, int]:
        """Return the columns left of the picture and the rows above it that centre it."""
        width, height = self.content_size
        return max(width - picture.width, 0) // 2, max(height - picture.height, 0) // 2

    def _row(self, picture: Picture, y: int) -> Strip:
        left, top = self._margins(picture)
        width, blank = self.content_size.width, self._style(Ink())
        if not top <= y < top + picture.height:
            return Strip.blank(width, blank)
        segments = [Segment(" " * left, blank)]
        for run in self.picture_row(picture.rows[y - top]):
            style = self._style(run.ink)
            if segments[-1].style == style:
                segments[-1] = Segment(segments[-1].text + run.text, style)
            else:
                segments.append(Segment(run.text, style))
        return Strip(segments, left + picture.width).adjust_cell_length(width, blank)

    def _empty_row(self, y: int) -> Strip:
        width, height = self.content_size
        words = self.empty_words() if y == height // 2 else ""
        return Strip([Segment(words[:width].center(width), self._style(Ink()))], width)

    def _style(self, ink: Ink) -> Style:
        key = (ink.role, ink.fill)
        style = self._styles.get(key)
        if style is None:
            style = self._styles[key] = filled(self.get_component_rich_style(f"board--{ink.role}"), ink.fill)
        return style


def filled(style: Style, fill: Fill) -> Style:
    """Return `style` filled; a terminal's own colours cannot be mixed, so there a tint leaves the ground as it is."""
    if fill is Fill.SOLID:
        return style + _SOLID
    front, ground = (colour and colour.triplet for colour in (style.color, style.bgcolor))
    if fill is Fill.NONE or front is None or ground is None:
        return style
    mixed = (round(low + (high - low) * _TINT) for high, low in zip(front, ground, strict=True))
    return style + Style(bgcolor=Color.from_rgb(*mixed))
