"""What a Standard MIDI File holds: notes, tempi, meters, names, and the tuning where a file of ours tells it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import mido  # type: ignore[import-untyped]  # it ships no types

from trainer.errors import ChangeoverError, plain
from trainer.fretboard.pitch import midi

DRUMS = 9
"""The channel of percussion in General MIDI, counted from 0."""
_TUNING = re.compile(r"tuning:\s*((?:[A-G][#b]?-?\d\s*){4,10})(?:,\s*capo\s*(\d{1,2}))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Struck:
    """A note as the file has it."""

    start: int
    """Tick at which it is struck."""
    end: int
    """Tick at which it ends, later than that."""
    pitch: int
    """MIDI note number."""
    channel: int
    """Counted from 0."""
    track: int
    """Counted from 0."""


class Events:
    """The events of one file, all tracks together; ticks are counted from its start."""

    def __init__(self, opened: mido.MidiFile) -> None:
        """Gather the events of a file that mido has opened."""
        self.quarter: int = opened.ticks_per_beat
        """Ticks to a quarter note."""
        self.struck: list[Struck] = []
        """The notes, by start and pitch; percussion is left out."""
        self.tempos: list[tuple[int, int]] = []
        """(tick, microseconds a quarter) of each tempo."""
        self.meters: list[tuple[int, int, int]] = []
        """(tick, beats in a bar, note value of a beat) of each meter."""
        self.programs: dict[int, int] = {}
        """The first General MIDI program of each channel, from 1."""
        self.names: dict[int, str] = {}
        """The name of each track that has one."""
        self.tuning: tuple[int, ...] | None = None
        """Open strings low to high; None where the file does not say."""
        self.capo = 0
        """The fret a capo lies at."""
        self.unread: Counter[str] = Counter()
        """What was met and not used, with how often."""
        self._sounding: dict[tuple[int, int], int] = {}
        self._track = self._tick = 0
        for number, track in enumerate(opened.tracks):
            self._read(number, track)
        self.struck.sort(key=lambda note: (note.start, note.pitch))

    def _read(self, number: int, track: mido.MidiTrack) -> None:
        self._track, self._tick = number, 0
        for message in track:
            self._tick += message.time
            take = _TAKES.get(message.type)
            if take is not None:
                take(self, message)
            elif message.type not in _NO_MATTER:
                self.unread[message.type] += 1
        for channel, pitch in tuple(self._sounding):
            self._end(channel, pitch)

    def _note(self, message: mido.Message) -> None:
        if message.channel == DRUMS:
            self.unread["percussion notes"] += message.type == "note_on"
            return
        self._end(message.channel, message.note)
        if message.type == "note_on" and message.velocity:
            self._sounding[message.channel, message.note] = self._tick

    def _end(self, channel: int, pitch: int) -> None:
        """End the note that sounds on a channel, where one does."""
        start = self._sounding.pop((channel, pitch), None)
        if start is not None:
            self.struck.append(Struck(start, max(self._tick, start + 1), pitch, channel, self._track))

    def _tempo(self, message: mido.MetaMessage) -> None:
        self.tempos.append((self._tick, message.tempo))

    def _meter(self, message: mido.MetaMessage) -> None:
        self.meters.append((self._tick, message.numerator, message.denominator))

    def _name(self, message: mido.MetaMessage) -> None:
        self.names[self._track] = plain(message.name.strip())[:100]

    def _program(self, message: mido.Message) -> None:
        self.programs.setdefault(message.channel, message.program + 1)

    def _text(self, message: mido.MetaMessage) -> None:
        match = _TUNING.search(message.text)
        if match is None:
            return
        try:
            self.tuning = tuple(midi(word) for word in match[1].split())
        except ChangeoverError:
            return
        self.capo = int(match[2] or 0)


_TAKES: Mapping[str, Callable[[Events, Any], None]] = {
    "note_on": Events._note,
    "note_off": Events._note,
    "set_tempo": Events._tempo,
    "time_signature": Events._meter,
    "track_name": Events._name,
    "program_change": Events._program,
    "text": Events._text,
}
"""What takes each kind of message."""
_NO_MATTER = frozenset({"end_of_track", "key_signature"})
"""Messages that say nothing of what is played: every note says its own pitch."""
