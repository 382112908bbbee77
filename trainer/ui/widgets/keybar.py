"""The key bar: which keys do what here, read from the command table; a click does the same as the key.

For a player with one key it shows whose turn it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from trainer.ui.command import Command, Place, bar_key, key_text
from trainer.ui.commands import commands_of
from trainer.ui.turns import Turn
from trainer.ui.widgets.ink import ink

_GAP = "  "


@dataclass(frozen=True, slots=True)
class Entry:
    """One command as the bar shows it."""

    command: Command
    """The command."""
    key: str
    """The first of its keys that works there, as a player would read it."""
    label: str
    """What it does, in a word or two."""

    @property
    def width(self) -> int:
        """Cells it takes."""
        return len(self.key) + 1 + len(self.label)


def entries(
    place: Place,
    rebound: Mapping[str, tuple[str, ...]],
    labels: Mapping[str, str],
    hidden: frozenset[str],
) -> tuple[Entry, ...]:
    """Return what the bar of `place` shows; `labels` replaces the labels of commands by id."""
    return tuple(
        Entry(command, key_text(key), labels.get(command.id, command.label))
        for command in commands_of(place)
        if command.bar and command.id not in hidden and (key := bar_key(place, command, rebound))
    )


def fitting(every: tuple[Entry, ...], width: int) -> tuple[Entry, ...]:
    """Return as many of `every` as `width` cells hold: those that work everywhere first, then the place's in order."""
    kept: set[Entry] = set()
    room = width + len(_GAP)
    for entry in sorted(every, key=lambda entry: entry.command.place is not Place.EVERYWHERE):
        room -= entry.width + len(_GAP)
        if room < 0:
            break
        kept.add(entry)
    return tuple(entry for entry in every if entry in kept)


class KeyBar(Widget):
    """One row of keys and what they do."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"keybar--key", "keybar--label"}
    DEFAULT_CSS = """
    KeyBar {
        height: 1;
        dock: bottom;
        text-wrap: nowrap;
        text-overflow: ellipsis;
        padding: 0 1;
        & > .keybar--key { text-style: bold; color: $accent; }
        & > .keybar--label { color: $foreground; }
    }
    """

    class Chosen(Message):
        """A command was clicked."""

        def __init__(self, command: Command, at: float) -> None:
            """Keep which, and when the click came in."""
            super().__init__()
            self.command = command
            self.at = at

    def __init__(self, place: Place) -> None:
        """Show the commands of `place` once told which keys they have."""
        super().__init__()
        self._place = place
        self._entries: tuple[Entry, ...] = ()
        self._turn: Turn | None = None

    def show(
        self,
        rebound: Mapping[str, tuple[str, ...]],
        labels: Mapping[str, str] | None = None,
        hidden: frozenset[str] = frozenset(),
    ) -> None:
        """Show the place's commands with these keys and, by id, these labels, without the hidden ones."""
        shown = entries(self._place, rebound, labels or {}, hidden)
        if shown != self._entries:
            self._entries = shown
            self.refresh()

    def show_turn(self, turn: Turn | None) -> None:
        """Show whose turn it is, in place of the keys; None: nobody's."""
        self._turn = turn
        self.refresh()

    def render(self) -> Content:
        """Return the row."""
        if self._turn is not None:
            taken = Content.styled(f"[ {self._turn.label} ]", ink(self, "keybar--key"))
            return Content.assemble("press now: ", taken, f"  {self._turn.command.does}")
        key, label = (ink(self, f"keybar--{part}") for part in ("key", "label"))
        parts = [
            Content.assemble(Content.styled(entry.key, key), " ", Content.styled(entry.label, label))
            for entry in fitting(self._entries, self.size.width)
        ]
        return Content(_GAP).join(parts)

    def on_click(self, event: events.Click) -> None:
        """Ask for the command under the pointer."""
        left = self.styles.padding.left
        for entry in fitting(self._entries, self.size.width):
            if left <= event.x < left + entry.width:
                self.post_message(self.Chosen(entry.command, event.time))
                return
            left += entry.width + len(_GAP)
