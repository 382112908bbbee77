"""MIDI messages of one guitar to note events and commands: the one place that knows how guitars speak."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

from trainer.listen import wire
from trainer.listen.bends import Bends
from trainer.listen.pedals import Pedals
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn
from trainer.practice.wiring import CHANNELS, Wiring

RESTRUCK_S = 0.03
"""A note-off this soon after a note was struck again without one belongs to the stroke before: no player damps a
string that fast (common practice), but some sources end the old note only after they began the new one."""

_RESET_CONTROLLERS = 121
_NOTES_OFF = frozenset({120, 123, 124, 125, 126, 127})
"""All sound off, all notes off, and the four modes, each of which ends all notes (MIDI 1.0, channel mode messages)."""


@dataclass(frozen=True, slots=True)
class Call:
    """A pedal was pressed."""

    at: float
    """When, on the clock of the messages; no latency is taken off, nothing has to be recognised."""
    id: str
    """The command it calls, as `Wiring.calls` names it."""


Decoded: TypeAlias = NoteEvent | Call
"""What comes out of a decoder."""


@dataclass(slots=True)
class _Struck:
    """A note that sounds."""

    at: float
    again: bool = False
    """True where it was struck again before it was told to end, and the end of the first stroke may still come."""


class Decoder:
    """Hears one guitar: bytes in, note events and pedal calls out, in the order of the bytes.

    Latency is taken off and levels are added here and nowhere else. Where a guitar has strings, a note on a channel
    that is none of them comes without a string. Where it has none, notes of the same pitch are one, and a bend counts
    while everything that sounds is on its channel; otherwise nobody can tell which of the notes it bends.
    """

    def __init__(self, wiring: Wiring) -> None:
        self._wiring = wiring
        self._wire = wire.Wire()
        self._bends = Bends(wiring)
        self._pedals = Pedals(wiring.calls)
        self._struck: dict[tuple[int, int], _Struck] = {}
        self._told: dict[int | None, float] = {}

    def feed(self, at: float, data: bytes) -> tuple[Decoded, ...]:
        """Take bytes that arrived at `at` (seconds on any clock): whole messages or any part of a stream."""
        found: list[Decoded] = []
        for message in self._wire.feed(data):
            found += _TAKES[message.status](self, at, message)
        return tuple(found)

    def close(self, at: float) -> tuple[Decoded, ...]:
        """End everything: the port is lost, or the playing is over. What the guitar said of its bends stays known."""
        self._wire = wire.Wire()
        return tuple(self._reset(at, wire.Message(wire.RESET, 0, 0, 0)))

    def _on(self, at: float, message: wire.Message) -> list[Decoded]:
        _, channel, pitch, velocity = message
        if velocity == 0:
            return self._off(at, message)
        trigger = self._pedals.trigger("note", pitch, channel)
        if trigger is not None:
            return [Call(at, self._pedals.strike(trigger))]
        self._struck[channel, pitch] = _Struck(at, again=(channel, pitch) in self._struck)
        string = self._wiring.strings.get(channel)
        found = self._bent(at)
        loud = round(velocity + self._wiring.levels.get(string, 0.0)) if string is not None else velocity
        return [*found, NoteOn(self._when(at, string), pitch, min(max(loud, 1), 127), string)]

    def _off(self, at: float, message: wire.Message) -> list[Decoded]:
        key = (message.channel, message.first)
        struck = self._struck.get(key)
        if struck is None:
            return []
        if struck.again and at - struck.at < RESTRUCK_S:
            struck.again = False
            return []
        return self._end(at, [key])

    def _end(self, at: float, keys: Iterable[tuple[int, int]]) -> list[Decoded]:
        """End notes; one without a string ends where no channel has it any more."""
        found: list[Decoded] = []
        for channel, pitch in keys:
            del self._struck[channel, pitch]
            string = self._wiring.strings.get(channel)
            if string is None and any(
                other == pitch and place not in self._wiring.strings for place, other in self._struck
            ):
                continue
            found.append(NoteOff(self._when(at, string), pitch, string))
        return found

    def _bend(self, at: float, message: wire.Message) -> list[Decoded]:
        self._bends.bend(message.channel, message.second << 7 | message.first)
        return self._bent(at)

    def _control(self, at: float, message: wire.Message) -> list[Decoded]:
        _, channel, number, value = message
        found: list[Decoded] = []
        trigger = self._pedals.trigger("control", number, channel)
        called = None if trigger is None else self._pedals.move(trigger, channel, value)
        if called is not None:
            found.append(Call(at, called))
        ends = number in _NOTES_OFF
        if number == _RESET_CONTROLLERS:
            for each in self._bends.under(channel):
                self._bends.release(each)
            self._pedals.release(channel)
        else:
            ends |= self._bends.control(channel, number, value)
        if ends:
            over = self._bends.under(channel)
            found += self._end(at, sorted(key for key in self._struck if key[0] in over))
        return found + self._bent(at)

    def _reset(self, at: float, _: wire.Message) -> list[Decoded]:
        found = self._end(at, sorted(self._struck))
        self._pedals.release()
        for channel in CHANNELS:
            self._bends.release(channel)
        return found + self._bent(at)

    def _nothing(self, _at: float, _message: wire.Message) -> list[Decoded]:
        return []

    def _bent(self, at: float) -> list[Decoded]:
        """Return the bends that differ from what was told last."""
        if self._wiring.strings:
            now: dict[int | None, float] = {
                string: self._bends.semitones(channel) for channel, string in self._wiring.strings.items()
            }
        else:
            channels = {channel for channel, _ in self._struck}
            now = {None: self._bends.semitones(channels.pop()) if len(channels) == 1 else 0.0}
        found: list[Decoded] = []
        for string, semitones in now.items():
            if semitones != self._told.get(string, 0.0):
                self._told[string] = semitones
                found.append(Bend(self._when(at, string), semitones, string))
        return found

    def _when(self, at: float, string: int | None) -> float:
        return at - self._wiring.latency_s(string)


_TAKES: MappingProxyType[int, Callable[[Decoder, float, wire.Message], list[Decoded]]] = MappingProxyType(
    {
        wire.NOTE_OFF: Decoder._off,
        wire.NOTE_ON: Decoder._on,
        wire.KEY_PRESSURE: Decoder._nothing,
        wire.CONTROL: Decoder._control,
        wire.PROGRAM: Decoder._nothing,
        wire.PRESSURE: Decoder._nothing,
        wire.BEND: Decoder._bend,
        wire.RESET: Decoder._reset,
    }
)
"""What each kind of message does."""
