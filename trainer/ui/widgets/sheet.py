"""A few rows of plain lines, each with a mark before it where there is one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, TypeAlias

from textual.content import Content
from textual.widget import Widget

from trainer.hand.change import Action
from trainer.ui.fitting import shortened
from trainer.ui.widgets.ink import ink

Row: TypeAlias = tuple[str, str, tuple[str, ...]]
"""A mark, a tone, which is an action of a finger, `caption` or `text`, and the parts of a line."""

_TONES = (*(str(action) for action in Action), "caption", "text")


class Sheet(Widget):
    """Lines to be read."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"sheet--{tone}" for tone in _TONES}
    DEFAULT_CSS = """
    Sheet {
        padding: 0 1;
        text-wrap: nowrap;
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
        self._rows: tuple[Row, ...] = ()

    def show(self, rows: Sequence[Row]) -> None:
        """Show these rows; of each as many parts as there is room for, in order, the first in any case."""
        if tuple(rows) != self._rows:
            self._rows = tuple(rows)
            self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        return Content("\n").join(self._row(*row) for row in self._rows)

    def _row(self, mark: str, tone: str, parts: tuple[str, ...]) -> Content:
        style = ink(self, f"sheet--{tone}")
        room, text = self.size.width - (len(mark) + 2 if mark else 0), parts[0]
        for part in parts[1:]:
            text += part if len(text) + len(part) <= room else ""
        text = shortened(text, room)
        if not mark:
            return Content.styled(text, style)
        plain = ink(self, "sheet--text")
        return Content.assemble(Content.styled(mark, style), "  ", Content.styled(text, plain))
