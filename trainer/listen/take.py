"""A recorded take: what an ear took in, as a Standard MIDI File that any MIDI program plays.

Ours has format 0, its messages as they were received, and one tick is 20 µs (25,000 to a quarter note of 500,000 µs).
What a MIDI file has no word for (how the guitar speaks, what was expected when) stands in text events, one line of
JSON each; they carry their own moment, for a file cannot go back in time. Any other file of format 0 or 1 is a take
too: its tracks merged, its tempo followed, its strings guessed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO, Final

from trainer import __version__
from trainer.errors import ChangeoverError, plain, wrong
from trainer.fretboard.instrument import Instrument
from trainer.listen import smf, wire
from trainer.listen.decoder import Decoder
from trainer.listen.ear import Ear
from trainer.listen.entries import TICKS_PER_S, Broke, Entry, Expected, Message, Paced, Waited, on_grid
from trainer.listen.matcher import Grid, Settings
from trainer.listen.strings import guess
from trainer.listen.wired import from_plain, to_plain
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteOn
from trainer.practice.wiring import Wiring

FORMAT: Final = 1
"""Number of the form of our own lines, and the highest that is read."""
LARGEST = 16 * 2**20
"""Bytes of the largest file that is read; an hour of playing with every bend takes about 10 MB."""
MOST_EVENTS = 1_000_000
"""Events of the longest take that is read: an hour at 270 a second."""

_OURS = "changeover "
"""What each of our lines begins with."""
_DIVISION = TICKS_PER_S * smf.TEMPO // 1_000_000
_RESET = bytes((wire.RESET,))
_DEFAULTS = Settings()


@dataclass(frozen=True, slots=True)
class Take:
    """What was played, and all it takes to grade it."""

    wiring: Wiring
    """How the guitar spoke, its calibration included."""
    entries: tuple[Entry, ...]
    """Everything taken in, in order."""
    drill: str = ""
    """Title of the drill it was played to; empty where that is not known."""
    program: str = ""
    """The version of this program that kept it; empty where another program did."""
    remarks: tuple[str, ...] = ()
    """What the player should know of how it was read."""

    @property
    def first_note(self) -> float:
        """When its first note was struck, latency taken off; 0 where there is none."""
        decoder = Decoder(self.wiring)
        for entry in self.entries:
            if isinstance(entry, Message):
                for event in decoder.feed(entry.at, entry.data):
                    if isinstance(event, NoteOn):
                        return event.at
        return 0.0


class TakeWriter:
    """Writes a take as it grows. After every entry the file is whole: a process that is killed loses nothing."""

    def __init__(self, file: BinaryIO, wiring: Wiring, drill: str) -> None:
        """Begin a take in `file`, which is empty, unbuffered and can be sought in. Raises OSError as the file does."""
        self._file = file
        self._tick = 0
        self._size = 0
        head = smf.head(_DIVISION) + smf.TRACK
        self._size_at, self._body_at = len(head), len(head) + 4
        self._file.write(head + bytes(4))
        title = plain(drill)
        line = {"take": FORMAT, "program": __version__, "drill": title, "wiring": to_plain(wiring)}
        tempo = smf.meta(smf.SET_TEMPO, smf.TEMPO.to_bytes(3, "big"))
        name = smf.meta(smf.TRACK_NAME, title.encode())
        self._append(b"\0" + tempo + b"\0" + name + b"\0" + _line(line))

    def keep(self, entry: Entry) -> None:
        """Write one more entry. Raises OSError as the file does; what was written before it stays readable."""
        if not isinstance(entry, Message) or entry.data == _RESET:
            self._append(b"\0" + _line(_mark(entry)))
            return
        tick = round(entry.at * TICKS_PER_S)
        delta = tick - self._tick
        self._tick = tick
        silence = b""
        while delta > smf.LONGEST:
            # A pause of an hour and a half: no number in a file is that long, an empty text stands in between.
            silence += smf.number(smf.LONGEST) + smf.meta(smf.TEXT, b"")
            delta -= smf.LONGEST
        self._append(silence + smf.number(delta) + entry.data)

    def _append(self, events: bytes) -> None:
        end = b"\0" + smf.meta(smf.END_OF_TRACK, b"")
        self._file.seek(self._body_at + self._size)
        self._file.write(events + end)
        self._size += len(events)
        # The length last: until then the track breaks off within what it had, and a reader keeps that.
        self._file.seek(self._size_at)
        self._file.write((self._size + len(end)).to_bytes(4, "big"))


def parse_take(data: bytes, name: str, drill: Drill | None = None) -> Take:
    """Return the take in the bytes of a MIDI file, called `name` in problems.

    `drill` is what it was played to: its tuning, and its shapes where strings have to be guessed. Raises
    ChangeoverError where it is no MIDI file, or cannot be timed.
    """
    if len(data) > LARGEST:
        raise wrong(f"larger than {LARGEST // 2**20} MB", file=name, hint="cut it into shorter takes")
    file = smf.parse(data, name, MOST_EVENTS)
    broken = ("the file breaks off: what came before that is read",) if file.broke_off else ()
    ours = next((line for event in file.events if (line := _ours(event, name)) is not None), None)
    if ours is not None and "take" in ours:
        return _our_take(file, ours, name, broken)
    found = guess(file.events, Instrument() if drill is None else drill.instrument, drill)
    entries = tuple(
        Message(on_grid(at), _on_channel(event, found.tracks.get(event.track)))
        for at, event in file.header.seconds(file.events)
        if event.meta is None and event.data
    )
    return Take(found.wiring, entries, remarks=(found.said, *broken))


def replay(take: Take, drill: Drill, settings: Settings = _DEFAULTS) -> Iterator[tuple[float, tuple[HeardChange, ...]]]:
    """Yield, entry by entry, its moment and the changes it completed; the last moment is infinite.

    Raises ChangeoverError where the take belongs to another drill.
    """
    for step in map(_step, take.entries):  # all of them first: half of a take is not to be told and then refused
        if step is not None and not 0 <= step < len(drill.steps):
            raise wrong(
                f"the take asks for shape {step + 1} and the drill has {len(drill.steps)}",
                hint=f"it was played to '{plain(take.drill)}'",
            )
    ear = Ear(drill, take.wiring, settings)
    for entry in take.entries:
        yield entry.at, ear.replay(entry).changes
    yield math.inf, ear.finish().changes


def grade(take: Take, drill: Drill, settings: Settings = _DEFAULTS) -> tuple[HeardChange, ...]:
    """Return every change of a take, each once and done; as `replay`."""
    return tuple(change for _, changes in replay(take, drill, settings) for change in changes if change.done)


def _our_take(file: smf.File, head: dict[str, Any], name: str, broken: tuple[str, ...]) -> Take:
    if head["take"] != FORMAT:
        raise wrong("kept by a newer version of this program", file=name, hint="update, then try again")
    entries: list[Entry] = []
    for at, event in file.header.seconds(file.events):
        line = _ours(event, name)
        if line is None:
            if event.meta is None and event.data:
                entries.append(Message(at, event.data))
        elif "at" in line:
            entries.append(_read(line, _marked, name))
    return Take(
        wiring=_read(head.get("wiring"), from_plain, name),
        entries=tuple(entries),
        drill=str(head.get("drill", "")),
        program=str(head.get("program", "")),
        remarks=broken,
    )


def _ours(event: smf.Event, name: str) -> dict[str, Any] | None:
    """Return the line that a text event of ours carries; None for any other event."""
    if event.meta != smf.TEXT or not event.data.startswith(_OURS.encode()):
        return None
    line = _read(event.data[len(_OURS) :].decode("ascii", "replace"), json.loads, name)
    return line if isinstance(line, dict) else None


def _read(value: Any, reader: Any, name: str) -> Any:
    """Return what `reader` makes of a value of ours; whatever it stumbles on, the line is not as we wrote it."""
    try:
        return reader(value)
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError) as error:
        raise _damaged(name) from error


def _damaged(name: str) -> ChangeoverError:
    return wrong("a line of this program in it is damaged", file=name, hint="another program may have changed it")


def _line(value: dict[str, Any]) -> bytes:
    return smf.meta(smf.TEXT, (_OURS + json.dumps(value)).encode("ascii"))


def _mark(entry: Entry) -> dict[str, Any]:
    line: dict[str, Any] = {"at": round(entry.at * TICKS_PER_S)}
    match entry:
        case Expected():
            line["expect"] = entry.step
        case Paced():
            grid = entry.grid
            line["pace"] = None if grid is None else {"at": grid.at, "beat_s": grid.beat_s, "step": grid.step}
        case Broke():
            line["lost"] = True
        case Waited():
            line["waited"] = True
        case Message():
            # The only message that no track can hold: in a file its byte begins a meta event.
            line["reset"] = True
    return line


def _marked(line: dict[str, Any]) -> Entry:
    at = int(line["at"]) / TICKS_PER_S
    if "expect" in line:
        return Expected(at, int(line["expect"]))
    if "pace" in line:
        return Paced(at, _grid(line["pace"]))
    if "lost" in line:
        return Broke(at)
    if "waited" in line:
        return Waited(at)
    if "reset" in line:
        return Message(at, _RESET)
    raise ValueError("no mark of ours")


def _grid(value: dict[str, Any] | None) -> Grid | None:
    if value is None:
        return None
    grid = Grid(float(value["at"]), float(value["beat_s"]), int(value["step"]))
    if not (math.isfinite(grid.at) and math.isfinite(grid.beat_s) and grid.beat_s > 0):
        raise ValueError("no beat")
    return grid


def _step(entry: Entry) -> int | None:
    if isinstance(entry, Expected):
        return entry.step
    return entry.grid.step if isinstance(entry, Paced) and entry.grid is not None else None


def _on_channel(event: smf.Event, channel: int | None) -> bytes:
    """Return the message of an event, on `channel` (from 1) where the track gives it one."""
    if channel is None or event.data[0] >= 0xF0:
        return event.data
    return bytes((event.data[0] & 0xF0 | (channel - 1),)) + event.data[1:]
