"""A short list with one line highlighted, in colour and by a mark: what it is, and why."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from trainer.ui.fitting import clauses
from trainer.ui.widgets.ink import ink
from trainer.ui.widgets.rows import MARK, PLAIN_MARK

_GAP = "   "


class Choices(Widget):
    """Rows of what and why, one of them highlighted."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"choices--{part}" for part in ("chosen", "what", "why")}
    DEFAULT_CSS = """
    Choices {
        height: auto;
        & > .choices--chosen { color: $accent; text-style: bold reverse; }
        & > .choices--what { color: $foreground; text-style: bold; }
        & > .choices--why { color: $foreground; }
    }
    """

    class Chosen(Message):
        """A line was clicked; it is the highlighted one now."""

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine`: with line-drawing signs."""
        super().__init__()
        self.fine = fine
        """True: with line-drawing signs, else in ASCII; taken on with the next drawing."""
        self._rows: tuple[tuple[str, str], ...] = ()
        self.chosen = 0
        """Index of the highlighted line."""

    def show(self, rows: tuple[tuple[str, str], ...]) -> None:
        """Show these lines, the first highlighted where they are other ones than before."""
        if rows != self._rows:
            self._rows, self.chosen = rows, 0
            self.refresh(layout=True)

    def move(self, by: int) -> None:
        """Highlight another line, in a ring."""
        self.chosen = (self.chosen + by) % max(len(self._rows), 1)
        self.refresh()

    def render(self) -> Content:
        """Return the lines."""
        width = max((len(what) for what, _ in self._rows), default=0)
        return Content("\n").join(self._row(index, what, why, width) for index, (what, why) in enumerate(self._rows))

    def on_click(self, event: events.Click) -> None:
        """Choose the line under the pointer."""
        row = event.y - self.styles.padding.top
        if 0 <= row < len(self._rows):
            self.chosen = row
            self.refresh()
            self.post_message(self.Chosen())

    def _row(self, index: int, what: str, why: str, width: int) -> Content:
        tone, mark = ("chosen", MARK if self.fine else PLAIN_MARK) if index == self.chosen else ("what", " ")
        name = Content.styled(f"{mark} {what:<{width}} ", ink(self, f"choices--{tone}"))
        room = self.size.width - len(name) - len(_GAP) - 1
        return Content.assemble(name, _GAP, Content.styled(clauses(why, room), ink(self, "choices--why")))
