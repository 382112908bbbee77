"""What all screens share: keys become commands, stamped where they came in, and the key bar shows them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from textual import events
from textual.screen import Screen

from trainer.ui.commands import Command, Place, keymap
from trainer.ui.services import Services


class CommandScreen(Screen[None]):
    """A screen whose keys run commands of the one table.

    Textual's own bindings are not used for commands: an action does not know when its key was pressed, and a
    change is timed by the key's own stamp, taken in the thread that reads the terminal.
    """

    place: ClassVar[Place] = Place.EVERYWHERE
    """Which commands work here."""

    def __init__(self, services: Services) -> None:
        """Keep what the screen works with."""
        super().__init__()
        self.services = services

    @property
    def keys(self) -> Mapping[str, Command]:
        """The command of each key here, rebinding applied."""
        return keymap(self.place, self.services.settings.keys)

    def on_key(self, event: events.Key) -> None:
        """Run the command of a key that no focused widget has taken."""
        command = self.keys.get(event.key)
        if command is not None:
            event.stop()
            event.prevent_default()
            self.run_command(command.id, event.time)

    def run_command(self, command: str, at: float) -> None:
        """Do what `command` asks for; `at` is when it came in, in monotonic seconds."""
        handler = getattr(self, f"do_{command}", None)
        if handler is not None:
            handler(at)

    def do_close(self, _: float) -> None:
        """Leave this screen; the last one ends the program."""
        if len(self.app.screen_stack) > 2:  # the stack's foot is Textual's own blank screen
            self.app.pop_screen()
        else:
            self.app.exit()

    def do_quit(self, _: float) -> None:
        """End the program."""
        self.app.exit()
