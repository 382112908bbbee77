"""Single lines that every screen has: the top line, and the notice that the window is too small."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from trainer.ui.fitting import squeezed


class TopLine(Widget):
    """Where the player is, at the left, and how far along, at the right."""

    DEFAULT_CSS = """
    TopLine { height: 1; dock: top; padding: 0 1; color: $foreground; background: $panel; }
    """

    def __init__(self, left: str = "", right: str = "") -> None:
        """Show both ends."""
        super().__init__()
        self._shown: tuple[tuple[str, ...], str, str] = ((left,), right, "")

    def show(self, left: str, right: str = "", after: Sequence[str] = (), dot: str = " ") -> None:
        """Show other ends; `after` the left one comes what matters more than it, the most last, `dot` between all."""
        new = ((left, *after), right, dot)
        if new != self._shown:
            self._shown = new
            self.refresh()

    def render(self) -> Content:
        """Return the line; where both ends do not fit, the left one gives way."""
        parts, right, dot = self._shown
        left = squeezed(parts, dot, self.size.width - len(right) - 2 if right else self.size.width)
        return Content(f"{left}{right:>{max(self.size.width - len(left), 0)}}")


class TooSmall(Static):
    """Says that the window is too small, and what size is needed."""

    DEFAULT_CSS = """
    TooSmall { width: 1fr; height: 1fr; content-align: center middle; text-align: center; display: none; }
    """

    def tell(self, size: tuple[int, int], least: tuple[int, int]) -> None:
        """Say it in as few words as fit anywhere."""
        self.update(f"Too small: {size[0]} x {size[1]}\nneeded: {least[0]} x {least[1]}")
