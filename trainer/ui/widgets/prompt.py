"""The one line that says what to do now, its key first."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.widgets.ink import ink


class Prompt(Widget):
    """What to press, and when."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"prompt--key", "prompt--text"}
    DEFAULT_CSS = """
    Prompt {
        height: 1;
        padding: 0 1;
        background: $panel;
        & > .prompt--key { color: $accent; text-style: bold reverse; }
        & > .prompt--text { color: $foreground; text-style: bold; }
    }
    """

    def __init__(self) -> None:
        """Say nothing yet."""
        super().__init__()
        self._said = ("", "", "")

    def show(self, key: str, text: str, brief: str = "") -> None:
        """Say to press `key`, where there is one, and when or what for; `brief` says it where there is less room."""
        if (key, text, brief) != self._said:
            self._said = (key, text, brief)
            self.refresh()

    def render(self) -> Content:
        """Return the line."""
        key, text, brief = self._said
        room = self.size.width - (len(key) + 3 if key else 0)
        text = text if len(text) <= room else brief or text
        said = Content.styled(text, ink(self, "prompt--text"))
        if not key:
            return said
        return Content.assemble(Content.styled(f" {key} ", ink(self, "prompt--key")), " ", said)
