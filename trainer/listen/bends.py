"""How far each channel is bent: pitch bend, its range as the guitar says it, and the zones of MPE."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.listen.parameters import BEND_RANGE, DATA_COARSE, DATA_FINE, NONE, ZONE, ZONES, Parameter, chosen
from trainer.practice.wiring import BEND_SEMITONES, CHANNELS, MPE_BEND_SEMITONES, Wiring

CENTRE = 8192
"""Pitch bend that bends nothing, of 14 bits (MIDI 1.0)."""


@dataclass(slots=True)
class _Channel:
    """What a channel has said so far."""

    value: int = CENTRE
    range: float = BEND_SEMITONES
    chosen: Parameter = NONE

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
        state.chosen = chosen(state.chosen, number, value)
        if state.chosen == BEND_RANGE and number == DATA_COARSE:
            self._set_range(channel, float(value))
        elif state.chosen == BEND_RANGE and number == DATA_FINE:
            self._set_range(channel, int(state.range) + value / 100)
        elif state.chosen == ZONE and number == DATA_COARSE and channel in ZONES:
            self._set_zone(channel, value)
            return True
        return False

    def release(self, channel: int) -> None:
        """Take the bend of a channel back and forget which parameter it had chosen; its range stays (RP-015)."""
        state = self._channels[channel]
        state.value, state.chosen = CENTRE, NONE

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
        members = ZONES[master][:count]
        for member in members:
            self._channels[member].range = MPE_BEND_SEMITONES
            self._masters[member] = master
        self._channels[master].range = BEND_SEMITONES if members else self._wiring.bend_semitones
