"""What costs a hand, drawn as rows."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from trainer.ui.progress.costs import Row, draw


class CostRows(Widget):
    """One row for each thing that is told."""

    DEFAULT_CSS = """
    CostRows { padding: 0 1; color: $foreground; }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine`: with lines of Unicode, else of ASCII."""
        super().__init__()
        self._fine = fine
        self._rows: tuple[Row, ...] = ()

    def show(self, rows: Sequence[Row]) -> None:
        """Show these rows."""
        self._rows = tuple(rows)
        self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        return Content("\n".join(draw(self._rows, self.size.width, fine=self._fine)))
