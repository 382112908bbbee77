"""Single lines that every screen has: the top line, and the notice that the window is too small."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static


class TopLine(Widget):
    """Where the player is, at the left, and how far along, at the right."""

    DEFAULT_CSS = """
    TopLine { height: 1; dock: top; padding: 0 1; color: $foreground; background: $panel; }
    """

    def __init__(self, left: str = "", right: str = "") -> None:
        """Show both ends."""
        super().__init__()
        self._ends = (left, right)

    def show(self, left: str, right: str = "") -> None:
        """Show other ends."""
        if (left, right) != self._ends:
            self._ends = (left, right)
            self.refresh()

    def render(self) -> Content:
        """Return the line; where both do not fit, the left one is cut with an ellipsis."""
        left, right = self._ends
        room = self.size.width - len(right) - 2 if right else self.size.width
        left = shortened(left, room)
        return Content(f"{left}{right:>{max(self.size.width - len(left), 0)}}")


class TooSmall(Static):
    """Says that the window is too small, and what size is needed."""

    DEFAULT_CSS = """
    TooSmall { width: 1fr; height: 1fr; content-align: center middle; text-align: center; display: none; }
    """

    def tell(self, size: tuple[int, int], least: tuple[int, int]) -> None:
        """Say it in as few words as fit anywhere."""
        self.update(f"Too small: {size[0]} x {size[1]}\nneeded: {least[0]} x {least[1]}")


def shortened(text: str, width: int) -> str:
    """Return `text`, cut with an ellipsis where it is longer than `width`."""
    return text if len(text) <= width else text[: max(width - 3, 0)] + "..."
