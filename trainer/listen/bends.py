"""How far each channel is bent: pitch bend, its range as the guitar says it, and the zones of MPE."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.practice.wiring import BEND_SEMITONES, CHANNELS, MPE_BEND_SEMITONES, Wiring

CENTRE = 8192
"""Pitch bend that bends nothing, of 14 bits (MIDI 1.0)."""

_DATA_COARSE, _DATA_FINE = 6, 38
_OTHER_FINE, _OTHER_COARSE, _FINE, _COARSE = 98, 99, 100, 101
"""Controllers that choose a parameter: non-registered, then registered (MIDI 1.0)."""
_NONE = (127, 127)
_BEND_RANGE = (0, 0)
"""Registered parameter 0: range of the pitch bend in semitones, and in cents (MIDI 1.0)."""
_ZONE = (0, 6)
"""Registered parameter 6 on channel 1 or 16: how many members the MPE zone has (MPE specification, RP-053)."""
_MASTERS = {1: range(2, 16), 16: range(15, 1, -1)}


@dataclass(slots=True)
class _Channel:
    """What a channel has said so far."""

    value: int = CENTRE
    range: float = BEND_SEMITONES
    chosen: tuple[int, int] = _NONE

    @property
    def semitones(self) -> float:
        return (self.value - CENTRE) / CENTRE * self.range


class Bends:
    """The bend of each channel, its master's counted in."""

    def __init__(self, wiring: Wiring) -> None:
        self._wiring = wiring
        self._channels = {channel: _Channel(range=wiring.bend_semitones) for channel in CHANNELS}
        self._masters: dict[int, int] = {}
        if wiring.master is not None:
            self._masters = dict.fromkeys(wiring.strings, wiring.master)
            self._channels[wiring.master].range = BEND_SEMITONES

    def semitones(self, channel: int) -> float:
        """Return how far notes on `channel` are bent."""
        own = self._channels[channel].semitones
        master = self._masters.get(channel)
        return own if master is None else own + self._channels[master].semitones

    def bend(self, channel: int, value: int) -> None:
        """Take a pitch bend, 0 to 16383."""
        self._channels[channel].value = value

    def control(self, channel: int, number: int, value: int) -> bool:
        """Take a controller; True where it set up an MPE zone, which ends every note in it."""
        state = self._channels[channel]
        if number == _COARSE:
            state.chosen = (value, state.chosen[1])
        elif number == _FINE:
            state.chosen = (state.chosen[0], value)
        elif number in {_OTHER_FINE, _OTHER_COARSE}:
            state.chosen = _NONE
        elif state.chosen == _BEND_RANGE and number == _DATA_COARSE:
            self._set_range(channel, float(value))
        elif state.chosen == _BEND_RANGE and number == _DATA_FINE:
            self._set_range(channel, int(state.range) + value / 100)
        elif state.chosen == _ZONE and number == _DATA_COARSE and channel in _MASTERS:
            self._set_zone(channel, value)
            return True
        return False

    def release(self, channel: int) -> None:
        """Take the bend of a channel back and forget which parameter it had chosen; its range stays (RP-015)."""
        state = self._channels[channel]
        state.value, state.chosen = CENTRE, _NONE

    def under(self, channel: int) -> tuple[int, ...]:
        """Return the channels that messages on `channel` are for: its members where it is a master, and itself."""
        return (channel, *(member for member, master in self._masters.items() if master == channel))

    def _set_range(self, channel: int, semitones: float) -> None:
        """Set a range; one member of a zone speaks for all of them (from memory of the MPE specification)."""
        master = self._masters.get(channel)
        members = (channel,) if master is None else self.under(master)[1:]
        for member in members:
            self._channels[member].range = semitones

    def _set_zone(self, master: int, count: int) -> None:
        self._masters = {member: of for member, of in self._masters.items() if of != master}
        members = _MASTERS[master][:count]
        for member in members:
            self._channels[member].range = MPE_BEND_SEMITONES
            self._masters[member] = master
        self._channels[master].range = BEND_SEMITONES if members else self._wiring.bend_semitones
