"""Standard MIDI Files as bytes: cut into events, and put together again as they come (Standard MIDI Files 1.0).

Read in one pass over bytes that are there, so that no file, however made, takes more time or room than its size; a
message comes out as the bytes it was, which is what an ear takes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from trainer.errors import ChangeoverError, wrong
from trainer.listen.wire import DATA_BYTES

HEADER = b"MThd"
TRACK = b"MTrk"
TEMPO = 500_000
"""Microseconds to a quarter note until a file says otherwise (Standard MIDI Files 1.0)."""
LONGEST = 0x0FFFFFFF
"""The largest variable-length quantity: four bytes of seven bits."""

TEXT, TRACK_NAME, END_OF_TRACK, SET_TEMPO = 0x01, 0x03, 0x2F, 0x51
"""Kinds of meta events."""
_READ = frozenset({TEXT, END_OF_TRACK, SET_TEMPO})
"""Those that are read; what else stands in a file has no part in a take."""
_META, _SYSEX, _ESCAPE = 0xFF, 0xF0, 0xF7

_FRAMES = {24: Fraction(24), 25: Fraction(25), 29: Fraction(30_000, 1001), 30: Fraction(30)}
"""SMPTE frames in a second by the number a division gives; 29 is 30 drop-frame, which runs at 29.97."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event of a track."""

    tick: int
    """Ticks from the start of the file."""
    track: int
    """Which of the file's tracks it stands in, from 0."""
    data: bytes
    """A channel message with its status; or what an escape carries; or the payload of a meta event."""
    meta: int | None = None
    """Kind of the meta event; None: a message."""


@dataclass(frozen=True, slots=True)
class Header:
    """What stands at the head of a file."""

    division: int
    """Ticks to a quarter note; 0 where the file counts in seconds."""
    per_second: Fraction | None
    """Ticks to a second, where the file counts in SMPTE frames; tempo has no effect then."""
    format: int
    """0 or 1."""

    def seconds(self, events: list[Event]) -> Iterator[tuple[float, Event]]:
        """Yield each event with its seconds from the start; `events` in order of ticks, set-tempo events among them."""
        if self.per_second is not None:
            for event in events:
                yield event.tick * self.per_second.denominator / self.per_second.numerator, event
            return
        # Whole numbers up to the last step, so that no error adds up: microseconds times ticks to a quarter.
        scale = 1_000_000 * self.division
        gone, tick, tempo = 0, 0, TEMPO
        for event in events:
            gone += (event.tick - tick) * tempo
            tick = event.tick
            yield gone / scale, event
            if event.meta == SET_TEMPO and len(event.data) == 3:
                tempo = int.from_bytes(event.data, "big")


@dataclass(frozen=True, slots=True)
class File:
    """A file cut into events."""

    header: Header
    """Its head."""
    events: list[Event]
    """The events of all tracks in order of ticks; at one tick by track, then as they stand."""
    broke_off: bool
    """True where the file ends before its last track does."""


class _BrokeOff(Exception):  # noqa: N818  # no error: what came before it is good
    """The bytes end in the middle of something."""


def parse(data: bytes, name: str, most: int) -> File:
    """Return the file in `data`, called `name` in problems, of at most `most` events.

    Raises ChangeoverError where it is no Standard MIDI File of format 0 or 1, or one that cannot be timed.
    """
    header, place = _header(data, name)
    events: list[Event] = []
    broke_off, tracks = False, 0
    while place + 8 <= len(data):
        kind, size = data[place : place + 4], int.from_bytes(data[place + 4 : place + 8], "big")
        start, end = place + 8, place + 8 + size
        if kind == TRACK:
            track = _Track(data, start, min(end, len(data)), tracks, name)
            for event in track.events():
                if len(events) >= most:
                    raise wrong(f"more than {most:,} MIDI events", file=name, hint="cut it into shorter takes")
                events.append(event)
            broke_off |= not track.whole and end >= len(data)
            tracks += 1
        place = end
    if not tracks:
        raise wrong("a MIDI file without a track", file=name, hint="the file is damaged")
    events.sort(key=lambda event: event.tick)
    return File(header, events, broke_off)


def _header(data: bytes, name: str) -> tuple[Header, int]:
    size = int.from_bytes(data[4:8], "big")
    if data[:4] != HEADER or len(data) < 14 or size < 6:
        raise wrong("no Standard MIDI File", file=name, hint="one begins with MThd, and its name usually ends in .mid")
    kind, division = int.from_bytes(data[8:10], "big"), int.from_bytes(data[12:14], "big")
    if kind > 1:
        raise wrong(
            f"a MIDI file of format {kind}", file=name, hint="formats 0 and 1 can be read; save it as one of these"
        )
    if not division & 0x8000:
        if division == 0:
            raise wrong("its division is 0, so nothing in it has a time", file=name, hint="save it anew")
        return Header(division, None, kind), 8 + size
    frames, ticks = 256 - (division >> 8), division & 0xFF
    if frames not in _FRAMES or ticks == 0:
        raise wrong(f"{frames} SMPTE frames of {ticks} ticks are no division", file=name, hint="save it anew")
    return Header(0, _FRAMES[frames] * ticks, kind), 8 + size


class _Track:
    """One track being cut into events."""

    def __init__(self, data: bytes, place: int, end: int, number: int, name: str) -> None:
        self._data, self._place, self._end = data, place, end
        self._number, self._name = number, name
        self._tick = self._status = 0
        self.whole = False
        """True once the track has said that it is over."""

    def events(self) -> Iterator[Event]:
        """Yield the track's events, as far as it is whole."""
        try:
            while self._place < self._end:
                self._tick += self._quantity()
                event = self._system() if self._byte() >= _SYSEX else self._message()
                if event is None:
                    continue
                if event.meta == END_OF_TRACK:
                    self.whole = True
                    return
                yield event
        except _BrokeOff:
            return

    def _message(self) -> Event:
        """Take a channel message, whose status may run on from the one before."""
        if self._byte() >= 0x80:
            self._status = self._take(1)[0]
        if self._status == 0:
            raise self._no_event(self._place)
        place, payload = self._place, self._take(DATA_BYTES[self._status & 0xF0])
        if max(payload) > 0x7F:
            raise self._no_event(place)
        return Event(self._tick, self._number, bytes((self._status,)) + payload)

    def _system(self) -> Event | None:
        """Take a meta event, an escape or a system exclusive message; None for what says nothing of a take."""
        place, kind, meta = self._place, self._take(1)[0], None
        if kind == _META:
            meta = self._take(1)[0]
        elif kind not in {_SYSEX, _ESCAPE}:
            raise self._no_event(place)
        # By the standard no status runs on after these; enough programs write as if it did after a meta event.
        self._status = self._status if kind == _META else 0
        payload = self._take(self._quantity())
        if kind == _SYSEX or (meta is not None and meta not in _READ):
            return None
        return Event(self._tick, self._number, payload, meta)

    def _quantity(self) -> int:
        """Take a variable-length quantity."""
        value, place = 0, self._place
        for _ in range(4):
            byte = self._take(1)[0]
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise wrong(f"a number longer than four bytes at byte {place}", file=self._name, hint="the file is damaged")

    def _byte(self) -> int:
        """Return the byte that is next, without taking it."""
        if self._place >= self._end:
            raise _BrokeOff
        return self._data[self._place]

    def _take(self, count: int) -> bytes:
        start, self._place = self._place, self._place + count
        if self._place > self._end:
            raise _BrokeOff
        return self._data[start : self._place]

    def _no_event(self, place: int) -> ChangeoverError:
        return wrong(f"no MIDI event at byte {place}", file=self._name, hint="the file is damaged")


def number(value: int) -> bytes:
    """Return a variable-length quantity of at most `LONGEST`."""
    found = [value & 0x7F]
    while value := value >> 7:
        found.append(value & 0x7F | 0x80)
    return bytes(reversed(found))


def head(division: int) -> bytes:
    """Return the head of a file with one track, format 0."""
    return HEADER + b"".join(value.to_bytes(size, "big") for value, size in ((6, 4), (0, 2), (1, 2), (division, 2)))


def meta(kind: int, payload: bytes) -> bytes:
    """Return a meta event without its time."""
    return bytes((_META, kind)) + number(len(payload)) + payload
