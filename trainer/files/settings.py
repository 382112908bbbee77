"""The settings file: one table of settings that reading, writing, checking and the settings screen all share.

Whatever is wrong in the file, practice begins: each setting that cannot be read takes its default, and says so.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from trainer.errors import ChangeoverError, Problem, wrong
from trainer.files import toml
from trainer.files.kinds import FLAG, Kind, UnfitError, choice, closest, integer, list_of, map_of, number, parsed, text
from trainer.hand.reach import HANDS, PAIRS, Hand
from trainer.practice.minutes import LONGEST, SHORTEST
from trainer.practice.phases import DEFAULT_MODE, Mode
from trainer.practice.tempo import FASTEST, SLOWEST

FORMAT = 1
"""Number of the settings format this program writes and the highest it reads."""
GLYPHS = ("unicode", "ascii")
"""The sets of marks a board is drawn with."""
NECKS = ("horizontal", "upright")
"""The ways the neck may lie."""
CLICKS = ("sound", "port", "bell", "none")
"""The ways to hear the beat, best first, as `sound.ways` has them."""
OFF = "off"
TURNS_S = MappingProxyType({OFF: 0.0, "quick": 1.0, "steady": 2.0, "slow": 4.0})
"""How long each thing that one key alone may ask for has its turn, in seconds; `OFF`: there are more keys."""

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
    minutes: int = 10
    """How many minutes of practice a day's plan is made for."""
    warmup_minutes: int = 10
    """How many minutes a warm-up takes."""
    goal_tempo: int = 60
    """Beats per minute the changes are to be fast enough for: one may take half a beat of it."""
    bell: bool = True
    """True: the terminal's bell may ring, for go and for a beat that nothing better sounds."""
    click: str = CLICKS[0]
    """One of `CLICKS`: how the beat is to be heard; the next that can be had is taken."""
    click_parts: int = 1
    """Clicks in a beat."""
    click_accents: tuple[int, ...] = ()
    """The accented beats of a bar, from 1; empty: as the meter has them."""
    silent_bars: bool = False
    """True: every other bar is silent, which tests the inner pulse."""
    click_late_ms: int = 20
    """How long after the program has handed a click to the sound device it is heard, in milliseconds."""
    target_in_a_row: int = 5
    """So many clean changes in a row at the target tempo, and it is reached that day."""
    target_days: int = 2
    """Reached on so many days, and it holds."""
    easier: bool = True
    """True: a drill says once where other fingers would make a change clearly easier."""
    repeat_ms: int = 60
    """A press closer than this upon the one before is a repeat of a held key, in milliseconds."""
    one_switch: str = OFF
    """Key of `TURNS_S`: how fast things take turns for a player with one key or pedal."""
    keys: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """The player's own keys of a command, by its id."""

    def __post_init__(self) -> None:
        """Check that the own reach does not contradict itself. Raises ChangeoverError."""
        _ = self.reach

    @property
    def reach(self) -> Hand:
        """The player's hand."""
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
    unit: str = ""
    """What its number is counted in."""


def _keys(written: str) -> tuple[str, ...]:
    keys = tuple(key.strip() for key in written.split(","))
    if not all(re.fullmatch(r"\w+(\+\w+)*", key) for key in keys):
        raise ValueError("letters and digits as they are, others by name: space, enter, question_mark, f5")
    return keys


_KEYS = parsed("keys with commas between", _keys)

SETTINGS: tuple[Setting, ...] = (
    Setting("theme", text(60), "theme", "The colours of the screen."),
    Setting("glyphs", choice(*GLYPHS), "marks", "Draw the board with line-drawing signs, or with plain ASCII."),
    Setting("neck", choice(*NECKS), "neck", "Lay the neck across the screen, or stand it upright."),
    Setting("left_handed", FLAG, "left-handed", "Mirror the board for a left-handed player."),
    Setting("hand", choice(*HANDS), "hand", "Reach to begin with; it decides what counts as a stretch."),
    Setting("comfortable_mm", _REACH, "comfortable reach", "Your own: fingers 1-2, 1-3, 1-4, 2-3, 2-4, 3-4.", "mm"),
    Setting("largest_mm", _REACH, "largest reach", "Your own, in the same order. Never force a stretch.", "mm"),
    Setting("mode", choice(*Mode), "way to practise", "How a drill begins; m changes it there."),
    Setting(
        "minutes",
        integer(1, 180),
        "today's practice",
        "How long the practice is that home offers for today.",
        "minutes",
    ),
    Setting("warmup_minutes", integer(SHORTEST, LONGEST), "warm-up", "How long a warm-up takes.", "minutes"),
    Setting(
        "goal_tempo",
        integer(round(SLOWEST), round(FASTEST)),
        "tempo to get to",
        "A change is fast enough when it takes half a beat of it.",
        "beats a minute",
    ),
    Setting("bell", FLAG, "bell", "The terminal's bell: for go, and for the beat where nothing else sounds."),
    Setting("click", choice(*CLICKS), "click", "The beat by sound device, MIDI port, bell, or on the screen alone."),
    Setting("click_parts", integer(1, 4), "clicks in a beat", "2 for halves, 3 for thirds, 4 for quarters."),
    Setting(
        "click_accents", list_of(integer(1, 16), fewest=1, most=16), "accents", "Beats; else as the meter has them."
    ),
    Setting("silent_bars", FLAG, "silent bars", "Every other bar without a click, to test your inner pulse."),
    Setting("click_late_ms", integer(0, 500), "click delay", "From the program to your ear; 20 is a buffer.", "ms"),
    Setting("target_in_a_row", integer(2, 50), "target, in a row", "Clean changes in a row at a drill's target tempo."),
    Setting("target_days", integer(1, 14), "target, days", "On so many days, and the target tempo holds."),
    Setting("easier", FLAG, "easier fingers", "Say once where a change would be clearly easier with other fingers."),
    Setting("repeat_ms", integer(0, 500), "repeat guard", "Presses closer than this are a held key's repeats.", "ms"),
    Setting(
        "one_switch",
        choice(*TURNS_S),
        "one key only",
        "After a rest all there is to do takes turns, 1, 2 or 4 s each; the one key takes it, 'back' leaves.",
    ),
    Setting("keys", map_of(_KEYS), "keys", "Your own keys, by command."),
)
"""Every setting, in the order of the settings screen."""


def load(
    path: Path, commands: Collection[str] = (), themes: Collection[str] = ()
) -> tuple[Settings, tuple[Problem, ...]]:
    """Return the settings in the file at `path` and what is wrong with it; the defaults where there is no file.

    `commands` are the ids that may have keys of their own, `themes` the names of those that may be chosen; none
    given: they are not checked.
    """
    try:
        path.lstat()
    except FileNotFoundError:
        return Settings(), ()
    except (OSError, ValueError):
        # Something is there, or may be: reading it says why it cannot be had.
        pass
    document, problems = toml.Document.load(path)
    if document is None:
        return Settings(), tuple(problems)
    table = document.top
    if not toml.take_format(table, FORMAT):
        return Settings(), tuple(problem for problem in document.finish() if not problem.warning)
    found = _found(table)
    found["keys"] = _known_keys(table.table("keys"), commands)
    theme = found.get("theme")
    if themes and theme is not None and theme not in themes:
        table.warn("theme", f"there is no theme '{theme}'", closest(theme, sorted(themes)))
    return _settings(found, table), tuple(document.finish())


def save(path: Path, changes: Mapping[str, object]) -> Path | None:
    """Write `changes` into the file at `path`; its comments, and what is not changed, stay.

    A file that cannot be read as TOML is put aside as `.bad`, and a new one begun; returns where it lies now. Raises
    ChangeoverError where a value is not what its setting must be, or the file cannot be written; nothing is written
    then.
    """
    flat: dict[str | tuple[str | int, ...], object] = {}
    for key, value in changes.items():
        flat[key] = _checked(key, value)
    document, aside = toml.to_change(path)
    keys = flat.pop("keys", None)
    if isinstance(keys, dict):
        old = {} if document is None else document.values.get("keys", {})
        if not isinstance(old, dict):
            flat["keys"], old = {}, {}
        flat |= {("keys", command): None for command in old if command not in keys}
        flat |= {("keys", command): own for command, own in keys.items()}
    toml.write_changes(path, document, _HEADER, flat)
    return aside


def _checked(key: str, value: object) -> object:
    """Return `value` as the file has it, None where the file says nothing. Raises ChangeoverError."""
    kinds = {setting.key: setting.kind for setting in SETTINGS}
    if key not in kinds:
        raise wrong("is no setting", key=key, hint=closest(key, list(kinds)))
    written = _written(value)
    if written in ("", []):
        return None
    try:
        kinds[key].read(written)
    except UnfitError as unfit:
        raise ChangeoverError(
            *(Problem(one.what, key=toml.spelt((key, *one.at)), hint=one.hint) for one in unfit.faults)
        ) from unfit
    return written


def _written(value: object) -> object:
    """Return `value` as TOML has it: a list for a tuple, a plain text for a word of ours, keys with commas."""
    match value:
        case tuple():
            return list(value)
        case Mapping():
            return {command: ", ".join(keys) for command, keys in value.items()}
        case str():
            return str(value)
        case _:
            return value


def _found(table: toml.Table) -> dict[str, Any]:
    """Return the settings that stand in the file and are what they must be; the keys are not among them."""
    missing = object()
    values = {
        setting.key: table.take(setting.key, setting.kind, missing) for setting in SETTINGS if setting.key != "keys"
    }
    return {key: value for key, value in values.items() if value is not missing}


def _known_keys(table: toml.Table, commands: Collection[str]) -> Mapping[str, tuple[str, ...]]:
    """Return the keys of each command that there is."""
    keys = table.rest(_KEYS)
    unknown = [command for command in keys if commands and command not in commands]
    for command in unknown:
        table.warn(command, "is no command", closest(command, sorted(commands)))
    return MappingProxyType({command: own for command, own in keys.items() if command not in unknown})


def _settings(found: dict[str, Any], table: toml.Table) -> Settings:
    """Return the settings; without the own reach where it contradicts itself."""
    try:
        return Settings(**found)
    except ChangeoverError as error:
        own = [key for key in ("largest_mm", "comfortable_mm") if key in found]
        for problem in error.problems:
            table.wrong(own[0], problem.what, problem.hint)
        return Settings(**{key: value for key, value in found.items() if key not in own})
