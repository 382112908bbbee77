"""The file of guitars: how each MIDI port's guitar speaks, how late and how loud it is heard, and who plays it.

One table for each port, under the key that stays the same from session to session (`listen.names`):

    [guitars."Some guitar:strings"]
    player = "window seat"
    seat = 3
    [guitars."Some guitar:strings".channels]
    6 = 11
    5 = 12

Whatever is wrong in the file, the guitar is heard: each value that cannot be read is left out, and says so.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from trainer.errors import Problem, grave
from trainer.files import toml
from trainer.files.kinds import DAY, Kind, UnfitError, closest, integer, number, parsed, text
from trainer.fretboard.instrument import Instrument
from trainer.practice.wiring import BEND_SEMITONES, Trigger, Wiring, two_periods_ms

T = TypeVar("T")

FORMAT = 1
"""Number of the format this program writes and the highest it reads."""
GUITARS = "guitars"
"""The table that holds a table for each guitar."""

_HEADER = f"# Guitars as Changeover's setup screen learned them, a table for each MIDI port.\nformat = {FORMAT}\n"
_PEDALS = "pedals"
_MOST_STRINGS = 16
_TRIGGER = re.compile(r"(control|note) (\d{1,3})(?: channel (\d{1,2}))?")


@dataclass(frozen=True, slots=True)
class Guitar:
    """What is known of the guitar on one port."""

    wiring: Wiring = field(default_factory=Wiring)
    """How it speaks."""
    spread_ms: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))
    """How sure the latency of each string is: it lies within plus or minus this in 95 cases of 100."""
    measured: date | None = None
    """When the latency was measured; None: it never was, and what stands there is what physics allows at best."""
    player: str = ""
    """Who plays it, in a class; empty where nobody said."""
    seat: int | None = None
    """Where they sit."""

    @property
    def calibration(self) -> str:
        """The latency that is taken off, in words that are kept beside what was heard with it."""
        latency = self.wiring.latency_ms
        if not latency:
            return f"{self.wiring.latency_all_ms:g} ms" if self.wiring.latency_all_ms else "none"
        told = " ".join(f"{string}:{latency[string]:.1f}" for string in sorted(latency, reverse=True))
        return f"{'two periods' if self.measured is None else f'measured {self.measured}'} ({told} ms)"

    def on(self, instrument: Instrument) -> Guitar:
        """Return how it is to be heard when it is tuned as `instrument` is.

        Strings that are told apart and whose latency nobody has told are taken to be as late as physics has it at best.
        """
        wiring = self.wiring
        if not wiring.strings or wiring.latency_ms or wiring.latency_all_ms:
            return self
        pitches = {string: instrument.pitch(string, 0) for string in range(1, instrument.strings + 1)}
        return replace(self, wiring=replace(wiring, latency_ms=two_periods_ms(pitches)))


def load(path: Path, commands: Collection[str] = ()) -> tuple[Mapping[str, Guitar], tuple[Problem, ...]]:
    """Return the guitars in the file at `path` by port, and what is wrong with it; none where there is no file.

    `commands` are the ids that a pedal may call; none given: they are not checked.
    """
    try:
        path.lstat()
    except FileNotFoundError:
        return MappingProxyType({}), ()
    except (OSError, ValueError):
        # Something is there, or may be: reading it says why it cannot be had.
        pass
    document, problems = toml.Document.load(path)
    if document is None:
        return MappingProxyType({}), tuple(problems)
    if not toml.take_format(document.top, FORMAT):
        return MappingProxyType({}), grave(document.finish())
    tables = document.top.table(GUITARS)
    found = {key: _guitar(tables.table(key), commands) for key in tables}
    return MappingProxyType(found), tuple(document.finish())


def save(path: Path, key: str, guitar: Guitar) -> Path | None:
    """Write the guitar on the port `key` into the file at `path`; its comments, and other guitars, stay.

    Returns where a file was put aside that could not be read. Raises ChangeoverError where it cannot be written.
    """
    document, aside = toml.to_change(path)
    old = _inside(None if document is None else document.values, GUITARS, key)
    flat: dict[str | tuple[str | int, ...], object] = {}
    for name, value in _written(guitar).items():
        if not isinstance(value, dict):
            flat[GUITARS, key, name] = value
            continue
        before = old.get(name)
        if not isinstance(before, dict) or not value:
            # No table of pedals means the one that is usual; an empty one means none.
            flat[GUITARS, key, name] = {} if name == _PEDALS and not value else None
            before = {}
        flat |= {(GUITARS, key, name, inner): None for inner in before if inner not in value}
        flat |= {(GUITARS, key, name, inner): each for inner, each in value.items()}
    toml.write_changes(path, document, _HEADER, flat)
    return aside


def _inside(values: Mapping[str, Any] | None, *way: str) -> Mapping[str, Any]:
    """Return the table at the end of `way`; an empty one where there is none."""
    for key in way:
        values = values.get(key) if isinstance(values, Mapping) else None
    return values if isinstance(values, Mapping) else {}


def _written(guitar: Guitar) -> dict[str, object]:
    """Return a guitar as TOML has it: a table for what is told by string or pedal, None for what is not said."""
    wiring = guitar.wiring
    return {
        "player": guitar.player or None,
        "seat": guitar.seat,
        "master": wiring.master,
        "bend_semitones": None if wiring.bend_semitones == BEND_SEMITONES else wiring.bend_semitones,
        "latency_all_ms": round(wiring.latency_all_ms, 1) or None,
        "latency_measured": guitar.measured,
        "channels": {str(string): channel for channel, string in wiring.strings.items()},
        "latency_ms": {str(string): round(ms, 1) for string, ms in wiring.latency_ms.items()},
        "latency_spread_ms": {str(string): round(ms, 1) for string, ms in guitar.spread_ms.items()},
        "levels": {str(string): round(level, 1) for string, level in wiring.levels.items()},
        _PEDALS: {_spelt(trigger): call for trigger, call in wiring.calls.items()},
    }


def _guitar(table: toml.Table, commands: Collection[str]) -> Guitar:
    """Return what one table says; each value that cannot be read is left out."""
    master = table.take("master", integer(1, 16), None)
    told: dict[str, Any] = {
        "bend_semitones": table.take("bend_semitones", number(0, 96), BEND_SEMITONES),
        "latency_all_ms": table.take("latency_all_ms", number(0, 500), 0.0),
        "latency_ms": _by_string(table, "latency_ms", number(0, 500)),
        "levels": _by_string(table, "levels", number(-127, 127)),
    }
    spread = _by_string(table, "latency_spread_ms", number(0, 500))
    if _PEDALS in table:
        told["calls"] = _pedals(table.table(_PEDALS), commands)
    measured = table.take("latency_measured", DAY, None)
    player, seat = table.take("player", text(60), ""), table.take("seat", integer(1, 999), None)
    wiring = _with_channels(Wiring(**told), master, table)
    return Guitar(wiring, MappingProxyType(spread), measured, player, seat)


def _with_channels(wiring: Wiring, master: int | None, table: toml.Table) -> Wiring:
    """Return the wiring with the channels that the table gives; as it is where they contradict each other."""
    channels = _by_string(table, "channels", integer(1, 16))
    try:
        if len(set(channels.values())) < len(channels):
            raise ValueError("two strings cannot have the same channel")
        return replace(wiring, strings={channel: string for string, channel in channels.items()}, master=master)
    except ValueError as error:
        table.wrong("channels", str(error), "learn the strings again on the setup screen")
        return wiring


def _by_string(table: toml.Table, key: str, kind: Kind[T]) -> dict[int, T]:
    """Return the table at `key` as values by string."""
    if key not in table:
        _ = table.take(key, kind, None)
        return {}
    inner = table.table(key)
    found = {}
    for string, value in inner.rest(kind).items():
        if re.fullmatch(r"[1-9]\d?", string, re.ASCII) and int(string) <= _MOST_STRINGS:
            found[int(string)] = value
        else:
            inner.wrong(string, "is no string", f"strings are numbered 1 to {_MOST_STRINGS}")
    return found


def _pedals(table: toml.Table, commands: Collection[str]) -> dict[Trigger, str]:
    found = {}
    for written, call in table.rest(text(40)).items():
        try:
            trigger = _TRIGGERS.read(written)
        except UnfitError as unfit:
            for fault in unfit.faults:
                table.fault(written, fault)
            continue
        if commands and call not in commands:
            table.warn(written, f"'{call}' is no command", closest(call, sorted(commands)))
        else:
            found[trigger] = call
    return found


def _spelt(trigger: Trigger) -> str:
    channel = "" if trigger.channel is None else f" channel {trigger.channel}"
    return f"{trigger.kind} {trigger.number}{channel}"


def _trigger(written: str) -> Trigger:
    match = _TRIGGER.fullmatch(written)
    if match is None:
        raise ValueError('as in "control 64" or "note 36 channel 10"')
    kind, numbered, channel = match.groups()
    return Trigger("note" if kind == "note" else "control", int(numbered), None if channel is None else int(channel))


_TRIGGERS = parsed("what a pedal sends", _trigger, 40)
