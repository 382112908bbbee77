"""The settings: each is applied at once and kept in the settings file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, OptionList

from trainer.errors import ChangeoverError
from trainer.files.kinds import UnfitError
from trainer.files.settings import OFF, SETTINGS, Setting, Settings
from trainer.practice.phases import Mode
from trainer.practice.wording import MODE_NAMES
from trainer.ui.command import WAY_OUT, Call, Command, Place, key_text, keys_of
from trainer.ui.commands import COMMANDS, commands_of, keymap
from trainer.ui.messages import Open, SettingsChanged
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.themes import known, reads
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.rows import Rows
from trainer.ui.widgets.words import Words

_DEFAULTS = Settings()
_FLAGS = (False, True)
_LABEL, _COMMAND = 18, 34
"""Cells of the column of labels: of settings, and of commands and where they work."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line: a setting, or the keys of a command."""

    setting: Setting
    """The setting; `keys` where it is a command's."""
    command: Command | None = None
    """The command whose keys are set here."""


class SettingsScreen(CommandScreen):
    """Everything the player can set, the keys of every command included."""

    place = Place.SETTINGS
    CSS_PATH = "settings.tcss"
    heading = "Settings"

    def __init__(self, services: Services) -> None:
        """List every setting, then every command."""
        super().__init__(services)
        plain = tuple(Row(setting) for setting in SETTINGS if setting.key != "keys")
        (keys,) = (setting for setting in SETTINGS if setting.key == "keys")
        self._rows = plain + tuple(Row(keys, command) for command in COMMANDS if not command.fixed)
        self._waits_for_key = False
        self._said = ""

    def body(self) -> ComposeResult:
        """Lay out the list, the line to write a value in, and what the setting means."""
        yield Rows(fine=self.fine)
        line = Input()
        line.display = False
        yield line
        yield Words()
        yield Prompt()

    def on_screen_resume(self) -> None:
        """Show every setting as it stands."""
        self._show()

    def on_key(self, event: events.Key) -> None:
        """Take the next key for the command that waits for one, and for nothing else."""
        if self._waits_for_key:
            event.stop()
            event.prevent_default()
            self._waits_for_key = False
            if event.key != "escape":
                self._bind(event.key)
            self._show()

    def on_option_list_option_highlighted(self, _: OptionList.OptionHighlighted) -> None:
        """Say what the setting is for."""
        self._tell()

    def on_option_list_option_selected(self, _: OptionList.OptionSelected) -> None:
        """Change the setting that was clicked."""
        self._change(1)

    def on_input_submitted(self, message: Input.Submitted) -> None:
        """Take the value that was written."""
        message.stop()
        self._close_line()
        if message.value.strip():
            self._set_written(self._row.setting, message.value.strip())
        self._show()

    def do_setting_up(self, _: Call) -> None:
        """Highlight the setting above."""
        self._said = ""
        self.query_one(OptionList).action_cursor_up()

    def do_setting_down(self, _: Call) -> None:
        """Highlight the setting below."""
        self._said = ""
        self.query_one(OptionList).action_cursor_down()

    def do_change_setting(self, _: Call) -> None:
        """Take the next value, wait for a key, or open the line to write one."""
        self._change(1)

    def do_change_back(self, _: Call) -> None:
        """Take the value before."""
        self._change(-1)

    def do_default(self, _: Call) -> None:
        """Go back to what the setting starts out as."""
        row = self._row
        if row.command is not None:
            self._save(keys={**self.services.settings.keys, row.command.id: row.command.keys})
        else:
            self._save(**{row.setting.key: getattr(_DEFAULTS, row.setting.key)})
        self._show()

    def do_latency(self, _: Call) -> None:
        """Find how late the click is heard."""
        self.post_message(Open("latency"))

    def do_close(self, call: Call) -> None:
        """Close the line where a value is written, else leave the screen."""
        if self.query_one(Input).display:
            self._close_line()
        else:
            super().do_close(call)

    @property
    def _row(self) -> Row:
        return self._rows[self.query_one(OptionList).highlighted or 0]

    def _change(self, by: int) -> None:
        self._said = ""
        row = self._row
        choices = self._choices(row.setting)
        if row.command is not None and self.services.settings.one_switch == OFF:
            self._waits_for_key = True
        elif choices:
            now = getattr(self.services.settings, row.setting.key)
            at = choices.index(now) if now in choices else 0
            self._save(**{row.setting.key: choices[(at + by) % len(choices)]})
        elif self.services.settings.one_switch != OFF:
            self._said = "Not to be written with one key; the settings file has it too."
        else:
            self._open_line()
        self._show()

    def _choices(self, setting: Setting) -> tuple[Any, ...]:
        if setting.key == "theme":
            return tuple(self.services.themes)
        return setting.kind.choices or (_FLAGS if isinstance(getattr(_DEFAULTS, setting.key), bool) else ())

    def _open_line(self) -> None:
        line = self.query_one(Input)
        line.value = _text(getattr(self.services.settings, self._row.setting.key))
        line.display = True
        line.focus()

    def _close_line(self) -> None:
        self.query_one(Input).display = False
        self.set_focus(None)

    def _set_written(self, setting: Setting, written: str) -> None:
        try:
            value = _value(written)
            listed = isinstance(getattr(_DEFAULTS, setting.key), tuple) and not isinstance(value, list)
            self._save(**{setting.key: setting.kind.read([value] if listed else value)})
        except UnfitError as unfit:
            self._said = f"{setting.label}: {unfit}"

    def _bind(self, key: str) -> None:
        command = self._row.command
        if command is None:
            return
        taken = [keymap(place, self.services.settings.keys).get(key) for place in _places(command)]
        other = next((one for one in taken if one is not None and one.id != command.id), None)
        if key == WAY_OUT or other is not None:
            what = "ends the program, always" if other is None else f"is already '{other.label}' there"
            self._said = f"{key_text(key)} {what}."
        else:
            own = keys_of(command, self.services.settings.keys)
            self._save(keys={**self.services.settings.keys, command.id: (key, *(one for one in own if one != key))})

    def _save(self, **changes: object) -> None:
        try:
            self.services.change(**changes)
            self._said = ""
        except ChangeoverError as error:
            self._said = str(error.problems[0])
        self.post_message(SettingsChanged())

    def _show(self) -> None:
        rows = self.query_one(Rows)
        rows.fine = self.fine
        at = rows.highlighted or 0
        rows.set_options(self._line(row) for row in self._rows)
        rows.highlighted = at
        self.show_keys()
        self._tell()

    def _line(self, row: Row) -> Content:
        settings = self.services.settings
        if row.command is not None:
            keys = "  ".join(key_text(key) for key in keys_of(row.command, settings.keys))
            return Content(f"{f'key: {row.command.label} ({row.command.place})':<{_COMMAND}} {keys}")
        return Content(f"{row.setting.label:<{_LABEL}} {self._stands(row.setting)}")

    def _reads(self) -> tuple[str, bool]:
        """Return how well the theme that is set reads, and whether badly; nothing where another row is highlighted."""
        given = self.services
        theme = given.themes.get(known(given.settings.theme, given.themes))
        return reads(theme) if theme is not None and self._row.setting.key == "theme" else ("", False)

    def _stands(self, setting: Setting) -> str:
        """Return the value that a setting has now, with its unit; also where it is not the player's own."""
        value, theirs = getattr(self.services.settings, setting.key), ""
        if value in ("", ()):
            reach = self.services.settings.reach
            value, theirs = {
                "theme": (next(iter(self.services.themes), ""), " (as it ships)"),
                "comfortable_mm": (reach.comfortable, f" ({self.services.settings.hand})"),
                "largest_mm": (reach.largest, f" ({self.services.settings.hand})"),
                "click_accents": ("as the meter has them", ""),
            }[setting.key]
        return f"{_text(value)}{setting.unit and f' {setting.unit}'}{theirs}"

    def _tell(self) -> None:
        row = self._row
        said, warn = (self._said, True) if self._said else self._reads()
        self.query_one(Words).show(row.setting.does if row.command is None else row.command.does, said, warn=warn)
        prompt = self.query_one(Prompt)
        if self._waits_for_key:
            prompt.show("", "Press the new key or pedal now; ESC leaves it as it is.")
        else:
            prompt.show("ENTER", "changes it; at once, and in the settings file.")


def _places(command: Command) -> tuple[Place, ...]:
    """Return where a new key of `command` must not mean something else."""
    if command.place is not Place.EVERYWHERE:
        return (command.place,)
    return tuple(place for place in Place if commands_of(place))


def _text(value: object) -> str:
    if isinstance(value, Mode):
        return MODE_NAMES[value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(f"{part:g}" for part in value) if isinstance(value, tuple) else str(value)


def _value(written: str) -> object:
    """Return what was written as the settings file would hold it: numbers, lists of numbers, or text."""
    parts = [part.strip() for part in written.split(",")]
    try:
        numbers = [float(part) if "." in part else int(part) for part in parts]
    except ValueError:
        return written
    return numbers if len(numbers) > 1 else numbers[0]
