"""The app: themes, screens by name, and the way out."""

from __future__ import annotations

import asyncio
import gc
import importlib
import os
import signal
import sys
from threading import Timer
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType

from trainer.ui import themes
from trainer.ui.command import WAY_OUT
from trainer.ui.messages import Open, SettingsChanged
from trainer.ui.seat import ELSEWHERE

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import PurePath

    from textual.screen import Screen

    from trainer.ui.services import Services

SCREENS = MappingProxyType(
    {
        "home": "trainer.ui.screens.home:HomeScreen",
        "drill": "trainer.ui.screens.drill:DrillScreen",
        "library": "trainer.ui.screens.library:LibraryScreen",
        "progress": "trainer.ui.screens.progress:ProgressScreen",
        "hand": "trainer.ui.screens.hand:HandScreen",
        "plan": "trainer.ui.screens.plan:PlanScreen",
        "bench": "trainer.ui.screens.bench:BenchScreen",
        "warmup": "trainer.ui.screens.warmup:WarmupScreen",
        "room": "trainer.ui.screens.room:RoomScreen",
        "marks": "trainer.ui.screens.marks:MarksScreen",
        "settings": "trainer.ui.screens.settings:SettingsScreen",
        "latency": "trainer.ui.screens.latency:LatencyScreen",
        "guitar": "trainer.ui.screens.guitar:GuitarScreen",
        "make": "trainer.ui.screens.make:MakeScreen",
        "scores": "trainer.ui.screens.scores:ScoresScreen",
        "score": "trainer.ui.screens.score:ScoreScreen",
        "help": "trainer.ui.screens.help:HelpScreen",
    }
)
"""Every screen by name; each is imported when it is first shown."""

_ENDINGS = () if sys.platform == "win32" else (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
"""Signals that end the program in order; a loop on Windows takes none."""
_BY_SIGNAL = 128
"""What shells add to a signal's number to say that it ended a program."""
_GRACE_S = 2.0
"""How long ending in order may take after a signal."""


class ChangeoverApp(App[None]):
    """Changeover in a terminal."""

    TITLE = "Changeover"
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding(WAY_OUT, "quit", show=False, priority=True)]

    def __init__(self, services: Services, opening: Open) -> None:
        """Keep the services; `opening` is the screen to begin with."""
        colourless = "NO_COLOR" in os.environ
        # The first screen's styles come with the app's own: with those of any other, Textual reads all once more.
        styles: list[str | PurePath] = ["app.tcss", f"screens/{opening.screen}.tcss"]
        # Without colour Textual still sends greys, unless the theme's colours are the terminal's own.
        super().__init__(css_path=styles, ansi_color=True if colourless else None)
        self._services, self._opening = services, opening
        themes.register(self, services.themes)
        self.theme = themes.PLAIN if colourless else themes.known(services.settings.theme, services.themes)

    def get_default_screen(self) -> Screen[None]:
        """Return the screen to begin with; nothing of Textual's lies below it."""
        return self._screen(self._opening)

    def on_mount(self) -> None:
        """See to it that a signal that ends the program ends it in order."""
        loop = asyncio.get_running_loop()
        for number in _ENDINGS:
            loop.add_signal_handler(number, self._end, _BY_SIGNAL + number)
        self.call_after_refresh(self._started)

    @staticmethod
    def _started() -> None:
        """Collect garbage again, but never look through what was loaded: a change is timed meanwhile."""
        gc.freeze()
        gc.enable()

    def clear_selection(self) -> None:
        """Let go of selected text; before there is a screen there is none.

        From Python 3.12 on Textual's tasks begin at once, so an input of the first screen asks for this while its
        screen is not on the stack yet.
        """
        if self._screen_stack:
            super().clear_selection()

    def on_open(self, message: Open) -> None:
        """Show the screen that is asked for; a seat in a browser is told where it does not have it."""
        if self._services.seat is not None and message.screen in ELSEWHERE:
            self.notify(ELSEWHERE[message.screen], markup=False)
            return
        self.push_screen(self._screen(message))

    def _screen(self, asked: Open) -> Screen[None]:
        """Return the screen that is asked for, its module imported now."""
        module, name = SCREENS[asked.screen].split(":")
        make: Callable[..., Screen[None]] = getattr(importlib.import_module(module), name)
        return make(self._services, **asked.given)

    def _end(self, code: int) -> None:
        """End in order; where that does not come to its end, at least with the log closed."""
        self.exit(return_code=code)
        # With its terminal gone, Textual's writing thread dies, and what waits for it would wait for ever.
        last_resort = Timer(_GRACE_S, self._break_off, (code,))
        last_resort.daemon = True
        last_resort.start()

    def _break_off(self, code: int) -> None:
        self._services.close()
        os._exit(code)

    def on_settings_changed(self, _: SettingsChanged) -> None:
        """Take on the theme that was chosen."""
        if not self.no_color:
            self.theme = themes.known(self._services.settings.theme, self._services.themes)
