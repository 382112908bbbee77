"""A plot as large as its room: times with their curve and what it says, or any other rows with a line above."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content
from textual.widget import Widget

from trainer.ui.fitting import clauses


class Plot(Widget):
    """A plot, drawn anew for every size."""

    DEFAULT_CSS = """
    Plot { padding: 0 1; color: $foreground; }
    """

    def __init__(self) -> None:
        """Show nothing yet."""
        super().__init__()
        self._shown: tuple[Callable[[int, int], list[str]] | None, str] = (None, "")

    def show(self, draw: Callable[[int, int], list[str]] | None, words: str = "") -> None:
        """Show what `draw` gives for a width and a height, with a line of `words` above; None: nothing."""
        self._shown = (draw, words)
        self.refresh()

    def render(self) -> Content:
        """Return the plot."""
        draw, words = self._shown
        width, height = self.content_size
        head = [clauses(words, width)] if words else []
        return Content("\n".join([*head, *(draw(width, height - len(head)) if draw is not None else [])]))
