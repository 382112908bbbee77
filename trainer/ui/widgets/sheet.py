"""A few rows of plain lines, each with a mark before it where there is one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.hand.change import Action
from trainer.ui.widgets.ink import ink

_TONES = (*(str(action) for action in Action), "caption", "text")


class Sheet(Widget):
    """Lines to be read."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"sheet--{tone}" for tone in _TONES}
    DEFAULT_CSS = """
    Sheet {
        padding: 0 1;
        text-wrap: nowrap;
        text-overflow: ellipsis;
        & > .sheet--caption { color: $dim; }
        & > .sheet--text { color: $foreground; }
        & > .sheet--kept { color: $kept; text-style: bold; }
        & > .sheet--guide { color: $guide; text-style: bold; }
        & > .sheet--swap { color: $cross; text-style: bold; }
        & > .sheet--cross { color: $cross; text-style: bold; }
        & > .sheet--place { color: $place; text-style: bold; }
        & > .sheet--lift { color: $lift; text-style: bold; }
        & > .sheet--free { color: $dim; }
        & > .sheet--unknown { color: $dim; }
    }
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  # Textual's own name for it
        """Show nothing yet."""
        super().__init__(id=id)
        self._rows: tuple[tuple[str, str, str], ...] = ()

    def show(self, rows: Sequence[tuple[str, str, str]]) -> None:
        """Show rows of a mark, its tone, and a text: the tone is an action of a finger, `caption` or `text`."""
        if tuple(rows) != self._rows:
            self._rows = tuple(rows)
            self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        return Content("\n").join(self._row(*row) for row in self._rows)

    def _row(self, mark: str, tone: str, text: str) -> Content:
        style = ink(self, f"sheet--{tone}")
        if not mark:
            return Content.styled(text, style)
        plain = ink(self, "sheet--text")
        return Content.assemble(Content.styled(mark, style), "  ", Content.styled(text, plain))
