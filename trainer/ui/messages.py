"""Messages that screens send to the app, so that no screen needs to know it."""

from __future__ import annotations

from typing import Any

from textual.message import Message


class Open(Message):
    """Show another screen."""

    def __init__(self, screen: str, **given: Any) -> None:
        """Name the screen as in `trainer.ui.app.SCREENS`; `given` goes to its constructor after the services."""
        super().__init__()
        self.screen = screen
        self.given = given
