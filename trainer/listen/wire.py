"""Bytes of a MIDI line to channel messages, whatever the bytes are (MIDI 1.0 detailed specification)."""

from __future__ import annotations

from types import MappingProxyType
from typing import NamedTuple

NOTE_OFF, NOTE_ON, KEY_PRESSURE, CONTROL, PROGRAM, PRESSURE, BEND = range(0x80, 0xF0, 0x10)
"""Status of each kind of channel message, its channel left out."""
RESET = 0xFF
"""System reset: the sender starts afresh."""

_SYSTEM = 0xF0
_REAL_TIME = 0xF8
DATA_BYTES = MappingProxyType(
    {NOTE_OFF: 2, NOTE_ON: 2, KEY_PRESSURE: 2, CONTROL: 2, PROGRAM: 1, PRESSURE: 1, BEND: 2},
)
"""How many data bytes follow each status."""


class Message(NamedTuple):
    """One channel message, or a system reset."""

    status: int
    """One of the kinds above."""
    channel: int
    """1 to 16; 0 for a reset, which is for all."""
    first: int
    """First data byte: a note or a controller, or the low seven bits of a bend. 0 for a reset."""
    second: int
    """Second data byte: a velocity or a value, or the high seven bits of a bend. 0 where there is none."""

    @property
    def data(self) -> bytes:
        """The message as bytes, its status written out."""
        if self.status == RESET:
            return bytes((RESET,))
        return bytes((self.status | (self.channel - 1), self.first, self.second))[: 1 + DATA_BYTES[self.status]]


class Wire:
    """Cuts bytes into messages; they may come a whole message at a time or in any other pieces.

    Running status is followed. Real-time bytes (clock, active sensing) may stand anywhere and change nothing. System
    exclusive and system common messages are passed over without being kept, so that none is too long; a message that
    breaks off is dropped.
    """

    def __init__(self) -> None:
        self._status = 0
        self._first: int | None = None

    def feed(self, data: bytes) -> list[Message]:
        """Return the messages that `data` completes."""
        found: list[Message] = []
        for byte in data:
            if byte < 0x80:
                if self._status:
                    self._data(byte, found)
            elif byte >= _REAL_TIME:
                if byte == RESET:
                    self._status, self._first = 0, None
                    found.append(Message(RESET, 0, 0, 0))
            else:
                # Whatever was under way is over. Data after a system message belongs to it, and no status is running.
                self._status, self._first = (byte if byte < _SYSTEM else 0), None
        return found

    def _data(self, byte: int, found: list[Message]) -> None:
        kind, channel = self._status & 0xF0, (self._status & 0x0F) + 1
        if DATA_BYTES[kind] == 1:
            found.append(Message(kind, channel, byte, 0))
        elif self._first is None:
            self._first = byte
        else:
            found.append(Message(kind, channel, self._first, byte))
            self._first = None
