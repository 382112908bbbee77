"""The settings file: one table of settings that reading, writing, checking and the settings screen all share.

Whatever is wrong in the file, practice begins: each setting that cannot be read takes its default, and says so.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from trainer.errors import ChangeoverError, Problem
from trainer.files import toml
from trainer.files.atomic import write_text
from trainer.files.kinds import FLAG, Kind, choice, closest, integer, list_of, map_of, number, parsed, text
from trainer.hand.reach import HANDS, PAIRS, Hand
from trainer.practice.phases import DEFAULT_MODE, Mode

FORMAT = 1
"""Number of the settings format this program writes and the highest it reads."""
GLYPHS = ("unicode", "ascii")
"""The sets of marks a board is drawn with."""
NECKS = ("horizontal", "upright")
"""The ways the neck may lie."""

_HEADER = f"# Changeover's settings. Every key may be left out.\nformat = {FORMAT}\n"
_REACH = list_of(number(1, 300), fewest=len(PAIRS), most=len(PAIRS))


@dataclass(frozen=True, slots=True)
class Settings:
    """What the player has set."""

    theme: str = ""
    """Name of the theme; empty: the first that ships."""
    glyphs: str = GLYPHS[0]
    """One of `GLYPHS`."""
    neck: str = NECKS[0]
    """One of `NECKS`."""
    left_handed: bool = False
    """True: the board is drawn mirrored."""
    hand: str = "adult"
    """Key of `HANDS`: the reach to begin with."""
    comfortable_mm: tuple[float, ...] = ()
    """The player's own comfortable reach, in the order of `reach.PAIRS`; empty: as `hand` says."""
    largest_mm: tuple[float, ...] = ()
    """The player's own largest reach, likewise."""
    mode: Mode = DEFAULT_MODE
    """The way to practise to begin with."""
    bell: bool = True
    """True: the beat rings the terminal's bell."""
    repeat_ms: int = 60
    """A press closer than this upon the one before is a repeat of a held key, in milliseconds."""
    keys: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """The player's own keys of a command, by its id."""

    @property
    def reach(self) -> Hand:
        """The player's hand. Raises ChangeoverError where the own reach contradicts itself."""
        start = HANDS[self.hand]
        return Hand(self.comfortable_mm or start.comfortable, self.largest_mm or start.largest)


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting as the file and the settings screen know it."""

    key: str
    """Its key in the file, also the field of `Settings`."""
    kind: Kind[Any]
    """What its value must be."""
    label: str
    """A few words for the settings screen."""
    does: str
    """One sentence for the settings screen."""


def _keys(written: str) -> tuple[str, ...]:
    keys = tuple(key.strip() for key in written.split(","))
    if not all(keys):
        raise ValueError("write one key, or several with commas between, as: space, enter")
    return keys


SETTINGS: tuple[Setting, ...] = (
    Setting("theme", text(60), "theme", "The colours of the screen."),
    Setting("glyphs", choice(*GLYPHS), "marks", "Draw the board with line-drawing signs, or with plain ASCII."),
    Setting("neck", choice(*NECKS), "neck", "Lay the neck across the screen, or stand it upright."),
    Setting("left_handed", FLAG, "left-handed", "Mirror the board for a left-handed player."),
    Setting("hand", choice(*HANDS), "hand", "Reach to begin with; it decides what counts as a stretch."),
    Setting("comfortable_mm", _REACH, "comfortable reach", "Your own, in mm: fingers 1-2, 1-3, 1-4, 2-3, 2-4, 3-4."),
    Setting("largest_mm", _REACH, "largest reach", "Your own, in mm, in the same order. Never force a stretch."),
    Setting("mode", choice(*Mode), "way to practise", "How a drill begins: paced, presses, cued or walk."),
    Setting("bell", FLAG, "bell", "Ring the terminal's bell on the beat."),
    Setting("repeat_ms", integer(0, 500), "repeat guard", "Presses closer than this (ms) are a held key's repeats."),
    Setting("keys", map_of(parsed("keys with commas between", _keys)), "keys", "Your own keys, by command."),
)
"""Every setting, in the order of the settings screen."""


def load(path: Path, commands: Collection[str] = ()) -> tuple[Settings, tuple[Problem, ...]]:
    """Return the settings in the file at `path` and what is wrong with it; the defaults where there is no file.

    `commands` are the ids that may have keys of their own; none given: they are not checked.
    """
    if not path.exists():
        return Settings(), ()
    document, problems = toml.Document.load(path)
    if document is None:
        return Settings(), tuple(problems)
    table = document.top
    if not toml.take_format(table, FORMAT):
        return Settings(), tuple(problem for problem in document.finish() if not problem.warning)
    missing = object()
    values = {setting.key: table.take(setting.key, setting.kind, missing) for setting in SETTINGS}
    found: dict[str, Any] = {key: value for key, value in values.items() if value is not missing}
    if "keys" in found:
        found["keys"] = _known_keys(document, found["keys"], commands)
    settings = Settings(**found)
    return _with_sound_reach(settings, document), tuple(document.finish())


def save(path: Path, changes: Mapping[str, object]) -> None:
    """Write `changes` into the file at `path`, its comments kept; a file that is no TOML is kept beside it as `.bad`.

    Raises ChangeoverError where the file cannot be written.
    """
    if path.exists() and toml.Document.load(path)[0] is None:
        path.replace(path.with_name(path.name + ".bad"))
    if not path.exists():
        write_text(path, _HEADER)
    flat: dict[str | tuple[str | int, ...], object] = {}
    for key, value in changes.items():
        if key == "keys" and isinstance(value, Mapping):
            flat.update({("keys", command): ", ".join(keys) for command, keys in value.items()})
        else:
            flat[key] = _written(value)
    toml.update(path, flat)


def _written(value: object) -> object:
    """Return `value` as TOML has it: a list for a tuple, a plain text for a word of ours."""
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, str) else value


def _known_keys(
    document: toml.Document, keys: Mapping[str, tuple[str, ...]], commands: Collection[str]
) -> Mapping[str, tuple[str, ...]]:
    for command in keys:
        if commands and command not in commands:
            document.problem(("keys", command), "is no command", closest(command, sorted(commands)), warning=True)
    return MappingProxyType({command: own for command, own in keys.items() if not commands or command in commands})


def _with_sound_reach(settings: Settings, document: toml.Document) -> Settings:
    try:
        _ = settings.reach
    except ChangeoverError as error:
        for problem in error.problems:
            document.problem(("largest_mm",), problem.what, problem.hint)
        return replace(settings, comfortable_mm=(), largest_mm=())
    return settings
