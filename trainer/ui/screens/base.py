"""What all screens share: keys become commands, stamped where they came in, and the key bar shows them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widget import Widget

from trainer.ui.command import Call, Command, Place, key_text
from trainer.ui.commands import keymap
from trainer.ui.messages import Open
from trainer.ui.services import Services
from trainer.ui.widgets.keybar import KeyBar
from trainer.ui.widgets.lines import TooSmall, TopLine

_SAME: Mapping[str, tuple[str, ...]] = MappingProxyType({})


class CommandScreen(Screen[None]):
    """A screen whose keys run commands of the one table.

    A subclass names its `place`, yields its widgets from `body` and has a method `do_ID(call)` for each command of its
    place. Textual's own bindings are not used for commands: an action does not know when its key was pressed, and a
    change is timed by the key's own stamp, taken in the thread that reads the terminal. A focused widget has the key
    first; what it takes (an input its letters) never gets here.
    """

    AUTO_FOCUS = ""
    place: ClassVar[Place] = Place.EVERYWHERE
    """Which commands work here."""
    least: ClassVar[tuple[int, int]] = (60, 20)
    """Columns and rows it needs; in a smaller window it says so and shows nothing else."""
    heading: ClassVar[str] = ""
    """What the top line says at the left to begin with."""

    def __init__(self, services: Services) -> None:
        """Keep what the screen works with."""
        super().__init__()
        self.services = services

    def compose(self) -> ComposeResult:
        """Lay out the top line, the body and the key bar."""
        yield TopLine(self.heading)
        yield from self.body()
        yield KeyBar(self.place)
        yield TooSmall()

    def body(self) -> ComposeResult:
        """Yield the screen's own widgets."""
        yield from ()

    @property
    def keys(self) -> Mapping[str, Command]:
        """The command of each key here, rebinding applied."""
        return keymap(self.place, self.services.settings.keys)

    def first_key(self, command: str) -> str:
        """Return the first key of the command with this id here, as the player knows it; empty where it has none."""
        return key_text(next((key for key, one in self.keys.items() if one.id == command), "")).upper()

    def fail(self, error: Exception) -> None:
        """Let what went wrong away from the loop end the program as if it had gone wrong on it."""

        def again() -> None:
            raise error

        self.app.call_later(again)

    def show_keys(
        self,
        labels: Mapping[str, str] | None = None,
        hidden: frozenset[str] = frozenset(),
        used: Mapping[str, tuple[str, ...]] = _SAME,
    ) -> None:
        """Show the key bar with these labels in place of the table's, by command id, and without the hidden ones.

        `used`: keys to show in place of those that are set, by command id.
        """
        alone = frozenset({"close"}) if self._is_last else frozenset()
        self.query_one(KeyBar).show({**self.services.settings.keys, **used}, labels, hidden | alone)

    def on_screen_resume(self) -> None:
        """Show the keys as they are now: they may have been rebound on another screen."""
        self.show_own_keys()

    def show_own_keys(self) -> None:
        """Show the key bar as it is to be now; a screen whose keys mean different things at times says so here."""
        self.show_keys()

    def on_resize(self, event: events.Resize) -> None:
        """Say so where the window is too small."""
        size, least = (event.size.width, event.size.height), self.least
        self.set_class(size[0] < least[0] or size[1] < least[1], "-too-small")
        self.query_one(TooSmall).tell(size, least)

    def on_key(self, event: events.Key) -> None:
        """Run the command of a key that no focused widget has taken."""
        command = self.keys.get(event.key)
        if command is not None and event.key not in _bound(self.focused):
            event.stop()
            event.prevent_default()
            self.run_command(Call(command, event.time, event.key))

    def on_key_bar_chosen(self, message: KeyBar.Chosen) -> None:
        """Run the command that was clicked."""
        message.stop()
        self.run_command(Call(message.command, message.at))

    def run_command(self, call: Call) -> None:
        """Do what `call` asks for."""
        handler = getattr(self, f"do_{call.command.id}", None)
        if handler is not None:
            handler(call)

    def do_close(self, _: Call) -> None:
        """Leave this screen; the last one ends the program."""
        if self._is_last:
            self.app.exit()
        else:
            self.app.pop_screen()

    def do_guitar(self, _: Call) -> None:
        """Set up a guitar."""
        self.post_message(Open("guitar"))

    def do_guitar_of_drill(self, call: Call) -> None:
        """Set up the guitar that is heard, in the middle of a drill."""
        self.do_guitar(call)

    def do_help(self, _: Call) -> None:
        """Show every key and mark."""
        self.post_message(Open("help", place=self.place))

    def do_quit(self, _: Call) -> None:
        """End the program."""
        self.app.exit()

    @property
    def _is_last(self) -> bool:
        return len(self.app.screen_stack) == 1


def _bound(focused: Widget | None) -> frozenset[str]:
    """Return the keys that a focused widget has bindings for; Textual asks bindings last, after the screen."""
    bindings = () if focused is None else type(focused).BINDINGS
    return frozenset(key for one in bindings if isinstance(one, Binding) for key in one.key.split(","))
