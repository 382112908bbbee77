"""Lines over time, each drawn small with its number beside it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from trainer.ui.progress.trends import Line, draw


class Trends(Widget):
    """One row for each line, as many rows high as there are."""

    DEFAULT_CSS = """
    Trends { height: auto; padding: 0 1; color: $foreground; }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine`: with bars of blocks, else of ASCII."""
        super().__init__()
        self._fine = fine
        self._lines: tuple[Line, ...] = ()

    def show(self, lines: Sequence[Line]) -> None:
        """Show these lines."""
        if tuple(lines) != self._lines:
            self._lines = tuple(lines)
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return as many rows as there are lines."""
        return len(self._lines)

    def render(self) -> Content:
        """Return the rows."""
        return Content("\n".join(draw(self._lines, self.size.width, fine=self._fine)))
