"""What all screens share: keys become commands, stamped where they came in, and the key bar shows them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from trainer.files.settings import TURNS_S
from trainer.ui.command import Call, Command, Place, key_text, keys_of
from trainer.ui.commands import BY_ID, commands_of, keymap
from trainer.ui.drilling.sources import MIDI_PEDAL
from trainer.ui.messages import Open
from trainer.ui.services import Services
from trainer.ui.turns import Turn, Turns, in_turn
from trainer.ui.widgets.keybar import KeyBar
from trainer.ui.widgets.lines import TooSmall, TopLine

if TYPE_CHECKING:
    from trainer.ui.drilling.parts import Signs
    from trainer.ui.drilling.scheduler import Cancel

WIDTHS = [(0, "-narrow"), (110, "-wide")]
"""Columns from which a screen has more beside the board, as the classes that it has in its styles."""
HEIGHTS = [(0, "-low"), (24, "-usual"), (34, "-tall")]
"""Rows from which it has more below each other, likewise."""
_SAME: Mapping[str, tuple[str, ...]] = MappingProxyType({})


class CommandScreen(Screen[None]):
    """A screen whose keys run commands of the one table.

    A subclass names its `place`, yields its widgets from `body` and has a method `do_ID(call)` for each command of its
    place. Textual's own bindings are not used for commands: an action does not know when its key was pressed, and a
    change is timed by the key's own stamp, taken in the thread that reads the terminal. A focused widget has the key
    first; what it takes (an input its letters) never gets here.

    Handlers (`on_…`) of a subclass call none of this class's: Textual calls both, the subclass's first.

    Where the player has one key only, what can be asked for takes turns (`trainer.ui.turns`), and lines to type in have
    no focus.
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
        self._turns: Turns | None = None
        self._labels: Mapping[str, str] = {}
        self._hidden: frozenset[str] = frozenset()

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

    @property
    def fine(self) -> bool:
        """True where signs beyond ASCII are drawn."""
        return self.services.look.glyphs.fine

    @property
    def signs(self) -> Signs:
        """The signs between words."""
        # The first screen needs none of them.
        from trainer.ui.drilling.parts import ASCII, FINE

        return FINE if self.fine else ASCII

    def first_key(self, command: str, used: str = "") -> str:
        """Return the first key of the command with this id here, as the player knows it; empty where it has none.

        `used`: the key that was pressed for it last, which the player knows best; empty where none was.
        """
        return key_text(used or next((key for key, one in self.keys.items() if one.id == command), "")).upper()

    def fail(self, error: Exception) -> None:
        """Let what went wrong away from the loop end the program as if it had gone wrong on it."""

        def again() -> None:
            raise error

        self.app.call_later(again)

    def from_thread(self, then: Callable[..., object], *found: object) -> None:
        """Have the screen take what a thread has found; while the screen is taken down that is let go."""

        def take() -> None:
            if self.display:
                then(*found)

        self.app.call_from_thread(take)

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
        self._labels, self._hidden = labels or {}, hidden | alone
        self.query_one(KeyBar).show({**self.services.settings.keys, **used}, labels, hidden | alone)

    def on_screen_resume(self) -> None:
        """Show the keys as they are now: they may have been rebound on another screen, or be one key only."""
        self.on_screen_suspend()
        each = TURNS_S[self.services.settings.one_switch]
        for line in self.query(Input):
            line.can_focus = not each
        if each:
            self.set_focus(None)
            self._turns = Turns(each, self._in_turn, self._show_turn, self.later, self.services.clock)
        self.show_own_keys()

    def on_screen_suspend(self) -> None:
        """Let nothing take turns while another screen is seen."""
        if self._turns is not None:
            self._turns.stop()
        self._turns = None

    def on_unmount(self) -> None:
        """Let nothing take turns any more, and let go of the lines that were drawn."""
        self.on_screen_suspend()
        # Textual remembers the last thousand widgets, gone or not, with their lines.
        self.refresh()

    def later(self, delay_s: float, then: Callable[[], None]) -> Cancel:
        """Do something in so many seconds; return what calls it off."""
        return self.set_timer(delay_s, then).stop

    @property
    def may_turn(self) -> bool:
        """False while nothing may take turns, as the one key has its own meaning then: something is timed or beats."""
        return True

    def keys_in_turn(self, command: Command) -> Sequence[str]:
        """Return the keys of `command` that have a turn each: all where each means something else."""
        keys = keys_of(command, self.services.settings.keys)
        return keys if command.fixed else keys[:1]

    def _show_turn(self, turn: Turn | None) -> None:
        """Show whose turn it is; what else the one key would do is not said meanwhile."""
        self.set_class(turn is not None, "-turning")
        for bar in self.query(KeyBar):  # there is none any more while the screen is taken down
            bar.show_turn(turn)

    def _in_turn(self) -> tuple[Turn, ...]:
        if not self.may_turn:
            return ()

        def label(command: Command, key: str) -> str:
            name = self._labels.get(command.id, command.label)
            return f"{name} {key_text(key)}" if command.fixed else name

        return in_turn(commands_of(self.place), self.keys_in_turn, label, self._hidden)

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
        if event.key not in _bound(self.focused) and (command is not None or self._is_one_key(event.key)):
            event.stop()
            event.prevent_default()
            self.ask(command, event.time, event.key)

    def on_key_bar_chosen(self, message: KeyBar.Chosen) -> None:
        """Run the command that was clicked."""
        message.stop()
        self.run_command(Call(message.command, message.at))

    def ask(self, command: Command | None, at: float, key: str) -> None:
        """Do what a key or pedal asks for at a moment; where it is the one key and something has its turn, that."""
        turn: Turn | bool = False
        if self._turns is not None:
            turn = self._turns.press(at) if self._is_one_key(key) else self._turns.rest()
        if isinstance(turn, Turn):
            command, key = turn.command, turn.key if turn.command.fixed else key
        if command is not None and turn is not True:
            self.run_command(Call(command, at, key))

    def _is_one_key(self, key: str) -> bool:
        """Tell whether `key` is the one key, where there is but one: any that presses in a run, or a MIDI pedal."""
        return self._turns is not None and key in {*keys_of(BY_ID["press"], self.services.settings.keys), MIDI_PEDAL}

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
