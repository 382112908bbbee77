"""The app: themes, screens by name, and the way out."""

from __future__ import annotations

import importlib
import signal
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType

from trainer.ui.commands import WAY_OUT
from trainer.ui.messages import Open

if TYPE_CHECKING:
    from trainer.ui.services import Services

SCREENS = MappingProxyType(
    {
        "home": "trainer.ui.screens.home:HomeScreen",
        "drill": "trainer.ui.screens.drill:DrillScreen",
        "library": "trainer.ui.screens.library:LibraryScreen",
        "progress": "trainer.ui.screens.progress:ProgressScreen",
        "settings": "trainer.ui.screens.settings:SettingsScreen",
        "make": "trainer.ui.screens.make:MakeScreen",
        "help": "trainer.ui.screens.help:HelpScreen",
    }
)
"""Every screen by name; each is imported when it is first shown."""


class ChangeoverApp(App[None]):
    """Changeover in a terminal."""

    TITLE = "Changeover"
    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding(WAY_OUT, "quit", show=False, priority=True)]

    def __init__(self, services: Services, opening: Open) -> None:
        """Keep the services; `opening` is the screen to begin with."""
        super().__init__()
        self._services = services
        self._opening = opening

    def on_mount(self) -> None:
        """Show the first screen; a terminal that goes away ends the program in order."""
        for number in (signal.SIGTERM, signal.SIGHUP):
            self._loop_signal(number)
        self.on_open(self._opening)

    def on_open(self, message: Open) -> None:
        """Show the screen that is asked for."""
        module, name = SCREENS[message.screen].split(":")
        screen: Any = getattr(importlib.import_module(module), name)
        self.push_screen(screen(self._services, **message.given))

    def _loop_signal(self, number: signal.Signals) -> None:
        import asyncio

        asyncio.get_running_loop().add_signal_handler(number, self.exit)
