"""A picture that fills a whole screen and changes a little with every beat: only rows that differ are rendered."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from textual.geometry import Region

from trainer.ui.board.canvas import Picture
from trainer.ui.board.picture import Look
from trainer.ui.board.view import PictureView

Drawn: TypeAlias = Callable[[int, int], Picture]
"""From columns and rows of a room to the picture that fills it."""


class RoomView(PictureView):
    """Shows what fills it."""

    DEFAULT_CSS = """
    RoomView { width: 1fr; height: 1fr; }
    """

    def __init__(self, look: Look) -> None:
        """Show nothing yet."""
        super().__init__(look)
        self._drawn: Drawn | None = None

    def show(self, drawn: Drawn) -> None:
        """Show what `drawn` returns for this room, now and whenever the room changes."""
        first, self._drawn = self._drawn is None, drawn
        old = None if first or self._stale else self._picture
        if old is None:
            self.redraw()
            return
        new = drawn(*self.content_size)
        if (new.width, new.height) != (old.width, old.height):
            self.redraw()
            return
        self._picture = new
        for y, (before, after) in enumerate(zip(old.rows, new.rows, strict=True)):
            if before != after:
                self._strips.pop(y, None)
                self.refresh(Region(0, y, self.content_size.width, 1))

    def draw_picture(self, width: int, height: int) -> Picture | None:
        """Return what fills the room."""
        return None if self._drawn is None else self._drawn(width, height)
