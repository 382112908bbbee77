"""Which channel, or which track, is which string: guessed from the pitches of a file that does not say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from trainer.fretboard.instrument import Instrument
from trainer.listen import wire
from trainer.listen.parameters import DATA_COARSE, NONE, ZONE, ZONES, Parameter, chosen
from trainer.listen.smf import Event
from trainer.practice.drill import Drill
from trainer.practice.wiring import BEND_SEMITONES, MPE_BEND_SEMITONES, Wiring

_LONG = 3
"""Bytes of a message with two data bytes, as those of notes and controllers."""
_TOP_FRET = 24
"""The highest fret that guitars commonly have."""
_STRAY = 0.02
"""Share of notes that may lie out of a string's range: ghosts and octave errors (a tracker's usual rates)."""
_ENOUGH = 4
"""From so many channels on, each in the range of one string, it is a guitar with a channel for each string. Common
practice, no source: with fewer the hands of a piano fit too, and the drill itself must agree."""
_AGREED = 0.8
"""Share of notes that the drill has on the very string, for fewer channels to be taken for strings."""
_USUAL = (1, 11, 2)
"""First channels that guitars use most, the likeliest first (common practice; the last is MPE's first member)."""

_Places = Mapping[int, Counter[int]]
"""How often each pitch is struck in each place: a channel from 1, or a track in order from 1."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What was made of a file's channels and tracks."""

    wiring: Wiring
    """How to hear it."""
    said: str
    """The same in words, for the player to check."""
    tracks: Mapping[int, int] = field(default_factory=dict)
    """Where each track is a string: the channel (from 1) that the messages of each track are to have."""


def guess(events: Iterable[Event], instrument: Instrument, drill: Drill | None = None) -> Guess:
    """Return how the notes among `events` are spread over the strings of `instrument`; `drill` helps to tell."""
    every = [event for event in events if event.meta is None and len(event.data) == _LONG]
    channels: dict[int, Counter[int]] = {}
    tracks: dict[int, Counter[int]] = {}
    for event in every:
        if event.data[0] & 0xF0 == wire.NOTE_ON and event.data[2]:
            channels.setdefault((event.data[0] & 0x0F) + 1, Counter())[event.data[1]] += 1
            tracks.setdefault(event.track, Counter())[event.data[1]] += 1
    shapes = _notes(drill)
    strings = _fitting(channels, instrument, shapes)
    if strings:
        master = _master(every, strings)
        bend = BEND_SEMITONES if master is None else MPE_BEND_SEMITONES
        return Guess(Wiring(strings=strings, master=master, bend_semitones=bend), _said("channel", strings))
    order = {track: place for place, track in enumerate(sorted(tracks), start=1)}
    strings = _fitting({order[track]: pitches for track, pitches in tracks.items()}, instrument, shapes)
    if strings:
        return Guess(Wiring(strings=strings), _said("track", strings), order)
    return Guess(Wiring(), "strings are not told apart: only pitches are heard")


def _notes(drill: Drill | None) -> frozenset[tuple[int, int]]:
    """Return every (string, MIDI note) that the drill has."""
    if drill is None:
        return frozenset()
    return frozenset(
        (string, drill.instrument.pitch(string, stop.fret)) for step in drill.steps for string, stop in step.shape
    )


def _fitting(places: _Places, instrument: Instrument, shapes: frozenset[tuple[int, int]]) -> Mapping[int, int]:
    """Return the likeliest string of each place; empty where they are no strings."""
    best: tuple[tuple[int, float, int], Mapping[int, int]] | None = None
    for base, strings in _candidates(places, instrument.strings):
        if not all(_in_range(pitches, instrument, strings[place]) for place, pitches in places.items()):
            continue
        agreed = _agreed(places, strings, shapes)
        if len(places) < _ENOUGH and agreed < _AGREED * sum(pitches.total() for pitches in places.values()):
            continue
        usual = -_USUAL.index(base) if base in _USUAL else -len(_USUAL)
        worth = (agreed, -_height(places, instrument, strings), usual)
        if best is None or worth > best[0]:
            best = (worth, strings)
    return {} if best is None else best[1]


def _candidates(places: _Places, count: int) -> Iterator[tuple[int, Mapping[int, int]]]:
    """Yield each first place there may be, and the string of every place: in order from there, either way round."""
    if len(places) < 2 or max(places) - min(places) >= count:
        return
    for base in range(max(1, max(places) - count + 1), min(places) + 1):
        yield base, {base + offset: count - offset for offset in range(count) if base + offset <= 16}
        yield base, {base + offset: offset + 1 for offset in range(count) if base + offset <= 16}


def _in_range(pitches: Counter[int], instrument: Instrument, string: int) -> bool:
    low = instrument.pitch(string, 0)
    out = sum(count for pitch, count in pitches.items() if not low <= pitch <= low + _TOP_FRET)
    return out <= _STRAY * pitches.total()


def _agreed(places: _Places, strings: Mapping[int, int], shapes: frozenset[tuple[int, int]]) -> int:
    return sum(
        count
        for place, pitches in places.items()
        for pitch, count in pitches.items()
        if (strings[place], pitch) in shapes
    )


def _height(places: _Places, instrument: Instrument, strings: Mapping[int, int]) -> float:
    """Return the mean fret: a hand rather plays low on the neck."""
    frets = sum(
        (pitch - instrument.pitch(strings[place], 0)) * count
        for place, pitches in places.items()
        for pitch, count in pitches.items()
    )
    return frets / sum(pitches.total() for pitches in places.values())


def _master(events: list[Event], strings: Mapping[int, int]) -> int | None:
    """Return the master channel of an MPE zone that was set up, where it is no string."""
    parameters: dict[int, Parameter] = {}
    for event in events:
        if event.data[0] & 0xF0 != wire.CONTROL:
            continue
        channel, controller, value = (event.data[0] & 0x0F) + 1, event.data[1], event.data[2]
        parameters[channel] = chosen(parameters.get(channel, NONE), controller, value)
        zone = parameters[channel] == ZONE and channel in ZONES
        if controller == DATA_COARSE and zone and value and channel not in strings:
            return channel
    return None


def _said(place: str, strings: Mapping[int, int]) -> str:
    first, last = min(strings), max(strings)
    return (
        f"guessed from the pitches: {place}s {first} to {last} are strings {strings[first]} to {strings[last]}, "
        "without latency"
    )
