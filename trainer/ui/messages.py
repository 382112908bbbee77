"""Messages that screens send to the app, so that no screen needs to know it."""

from __future__ import annotations

from typing import Any

from textual.message import Message


class Open(Message):
    """Show another screen on top of this one."""

    def __init__(self, screen: str, **given: Any) -> None:
        """Name the screen as in `trainer.ui.app.SCREENS`; `given` goes to its constructor after the services."""
        super().__init__()
        self.screen = screen
        self.given = given


class SettingsChanged(Message):
    """Settings are other ones now: take on what is the app's own, the theme."""
