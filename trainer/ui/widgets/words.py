"""A block of a few rows: the change in words from the top, a message from the foot."""

from __future__ import annotations

from textwrap import wrap
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.widgets.ink import ink


class Words(Widget):
    """Sentences about what is on the board, and one to the player."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"words--{part}" for part in ("text", "message", "warning")}
    DEFAULT_CSS = """
    Words {
        padding: 0 1;
        & > .words--text { color: $foreground; }
        & > .words--message { color: $foreground; text-style: italic; }
        & > .words--warning { color: $warn; text-style: bold; }
    }
    """

    def __init__(self) -> None:
        """Say nothing yet."""
        super().__init__()
        self._said = ("", "", False, "")

    def show(self, text: str, message: str = "", *, warn: bool = False, hint: str = "") -> None:
        """Say `text`, and `message` below it; `warn` where something is wrong.

        Without a message `hint` is said in its place, where the text leaves room for all of it.
        """
        if (text, message, warn, hint) != self._said:
            self._said = (text, message, warn, hint)
            self.refresh()

    def render(self) -> Content:
        """Return the rows; where text and message do not fit, the text's last clauses are left out."""
        text, message, warn, hint = self._said
        width, height = self.size
        foot = _lines(message, width, height)
        head = _clauses(text, width, height - len(foot))
        if not foot and len(head) + len(spare := _lines(hint, width, height)) <= height:
            foot = spare
        gap = [""] * (height - len(head) - len(foot))
        tones = ["text"] * len(head) + [""] * len(gap) + ["warning" if warn else "message"] * len(foot)
        rows = zip((*head, *gap, *foot), tones, strict=True)
        return Content("\n").join(
            Content.styled(row, ink(self, f"words--{tone}")) if tone else Content(row) for row, tone in rows
        )


def _clauses(text: str, width: int, most: int) -> list[str]:
    """Return as many clauses of `text` as `most` lines hold."""
    clauses = text.split("; ")
    for count in range(len(clauses), 0, -1):
        told = "; ".join(clauses[:count]) + ("; ..." if count < len(clauses) else "")
        if len(lines := _lines(told, width, most + 1)) <= most:
            return lines
    return _lines(text, width, most)


def _lines(text: str, width: int, most: int) -> list[str]:
    return wrap(text, max(width, 1), max_lines=most, placeholder=" ...") if text and most > 0 else []
