"""Standard MIDI Files 0 and 1 read as scores: tempo, meter, a string to a channel where that is how they were made.

A file holds pitches and times, no names of strings or fingers; times that were played are put on a grid.
"""

from __future__ import annotations

import io
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import mido  # type: ignore[import-untyped]  # it ships no types

from trainer.errors import ChangeoverError, plain, wrong
from trainer.fretboard.instrument import MOST_STRINGS, Instrument
from trainer.fretboard.pitch import midi as midi_of
from trainer.scores.score import Bar, Note, Part, Printed, Score, Tempo, Unread

MOST_BYTES = 512 * 1024
"""A file larger than this is refused before it is read; one of 4,400 notes has about 50 kB."""
MOST_BARS = 20_000
DRUMS = 9
"""The channel of percussion in General MIDI, counted from 0."""
GRIDS = (1, 2, 3, 4, 6, 8, 12, 16, 24)
"""Parts of a quarter that a grid may have, coarsest first."""
_OFF, _SHARE = Fraction(1, 24), 0.95
"""A grid fits where this share of the notes lies within this part of a quarter of it (ours, no source)."""
_PLAYED = 12
"""Parts of a quarter where none of these fits: the times were played."""
_ENDS = 4
"""Parts of a quarter at least that ends of notes are told apart by."""
_TUNING = re.compile(r"tuning:\s*((?:[A-G][#b]?-?\d\s*){4,10})(?:,\s*capo\s*(\d{1,2}))?", re.IGNORECASE)
_DEFAULT_TEMPO = 500_000
"""Microseconds a quarter where a file says nothing (SMF 1.0)."""


@dataclass(frozen=True, slots=True)
class _Struck:
    """A note as the file has it, in ticks."""

    start: int
    end: int
    pitch: int
    channel: int
    track: int


def read(data: bytes, file: str) -> Score:
    """Return the score in `data`. Raises ChangeoverError where it is no sound MIDI file of format 0 or 1."""
    if len(data) > MOST_BYTES:
        raise wrong(f"is larger than {MOST_BYTES // 1024} KB", file=file, hint="a MIDI file of a piece is far smaller")
    _check_head(data, file)
    try:
        opened = mido.MidiFile(file=io.BytesIO(data))
    except (OSError, EOFError, ValueError, LookupError, TypeError, ArithmeticError) as error:
        raise wrong(f"is no sound MIDI file: {error or 'it ends early'}", file=file, hint="save it again") from None
    return _Reading(opened, file).score()


def _check_head(data: bytes, file: str) -> None:
    if len(data) < 14:
        raise wrong("is no whole MIDI file", file=file, hint="it may be cut short; fetch it again")
    kind, division = int.from_bytes(data[8:10], "big"), int.from_bytes(data[12:14], "big")
    if kind > 1:
        raise wrong(f"is a MIDI file of format {kind}", file=file, hint="formats 0 and 1 are read")
    if division == 0 or division & 0x8000:
        raise wrong("counts in seconds, not in beats", file=file, hint="save it with ticks to a quarter note")


class _Reading:
    """One file being read."""

    def __init__(self, opened: mido.MidiFile, file: str) -> None:
        self.opened = opened
        self.file = file
        self.quarter = opened.ticks_per_beat
        self.struck: list[_Struck] = []
        self.tempos: list[tuple[int, int]] = []
        self.meters: list[tuple[int, int, int]] = []
        self.programs: dict[int, int] = {}
        self.names: dict[int, str] = {}
        self.tuning: tuple[int, ...] | None = None
        self.capo = 0
        self.unread: Counter[str] = Counter()
        self.number = self.at = 0
        """Which track is being read, and the tick that reading has come to."""
        self.sounding: dict[tuple[int, int], int] = {}
        """The tick at which each (channel, pitch) of it began that has not ended."""
        for number, track in enumerate(opened.tracks):
            self.track(number, track)

    def track(self, number: int, track: mido.MidiTrack) -> None:
        self.number, self.at = number, 0
        for message in track:
            self.at += message.time
            take = _TAKES.get(message.type)
            if take is not None:
                take(self, message)
            elif message.type not in _NO_MATTER:
                self.unread[message.type] += 1
        for channel, pitch in tuple(self.sounding):
            self.end(channel, pitch)

    def note(self, message: mido.Message) -> None:
        if message.channel == DRUMS:
            self.unread["percussion notes"] += message.type == "note_on"
            return
        self.end(message.channel, message.note)
        if message.type == "note_on" and message.velocity:
            self.sounding[message.channel, message.note] = self.at

    def end(self, channel: int, pitch: int) -> None:
        """End the note that sounds on a channel, where one does."""
        start = self.sounding.pop((channel, pitch), None)
        if start is not None:
            self.struck.append(_Struck(start, max(self.at, start + 1), pitch, channel, self.number))

    def set_tempo(self, message: mido.MetaMessage) -> None:
        self.tempos.append((self.at, message.tempo))

    def meter(self, message: mido.MetaMessage) -> None:
        self.meters.append((self.at, message.numerator, message.denominator))

    def name(self, message: mido.MetaMessage) -> None:
        self.names[self.number] = plain(message.name.strip())[:100]

    def program(self, message: mido.Message) -> None:
        self.programs.setdefault(message.channel, message.program + 1)

    def text(self, message: mido.MetaMessage) -> None:
        match = _TUNING.search(message.text)
        if match is None:
            return
        try:
            self.tuning = tuple(midi_of(word) for word in match[1].split())
        except ChangeoverError:
            return
        self.capo = int(match[2] or 0)

    def score(self) -> Score:
        self.struck.sort(key=lambda note: (note.start, note.pitch))
        said: list[str] = []
        grid = self.grid(said)
        bars, starts = self.bars()
        parts = tuple(self.parts(grid, starts, said))
        if not parts:
            raise wrong("has no notes", file=self.file, hint="percussion is not counted")
        quarter = self.quarter
        tempos = [(at, tempo) for at, tempo in sorted(self.tempos) if tempo > 0] or [(0, _DEFAULT_TEMPO)]
        return Score(
            parts=parts,
            bars=bars,
            tempos=tuple(self.tempo(at, tempo, starts, quarter) for at, tempo in tempos),
            title=self.names.get(0, ""),
            understood={"notes": len(self.struck), "tempo": len(self.tempos), "meter": len(self.meters)},
            unread=tuple(Unread("", kind, count) for kind, count in self.unread.items()),
            said=tuple(said),
        )

    def tempo(self, at: int, tempo: int, starts: list[Fraction], quarter: int) -> Tempo:
        onset = Fraction(at, quarter)
        bar = max(bisect_right(starts, onset) - 1, 0)
        return Tempo(bar, onset - starts[bar], 60_000_000 / tempo)

    def grid(self, said: list[str]) -> int:
        """Return into how many parts a quarter is cut: the fewest that most notes agree with."""
        onsets = [Fraction(note.start, self.quarter) for note in self.struck]

        def off(parts: int) -> list[Fraction]:
            return [abs(onset * parts - round(onset * parts)) / parts for onset in onsets]

        fits = (parts for parts in GRIDS if sum(each <= _OFF for each in off(parts)) >= _SHARE * len(onsets))
        parts = next(fits, _PLAYED)
        moved = max(off(parts), default=Fraction(0))
        if moved:
            said.append(
                f"notes put on a grid of {parts} to a quarter; the furthest is moved {float(moved):.3f} quarters"
            )
        return parts

    def bars(self) -> tuple[tuple[Bar, ...], list[Fraction]]:
        """Return the bars up to the last note, and where each begins."""
        end = max((Fraction(note.end, self.quarter) for note in self.struck), default=Fraction(0))
        changes = {
            Fraction(at, self.quarter): (top, bottom) for at, top, bottom in sorted(self.meters) if top and bottom <= 64
        }
        bars: list[Bar] = []
        starts: list[Fraction] = []
        at, meter = Fraction(0), (4, 4)
        while at < end or not bars:
            if len(bars) >= MOST_BARS:
                raise wrong(f"has more than {MOST_BARS:,} bars", file=self.file, hint="save a part of it")
            meter = next((changes[when] for when in sorted(changes, reverse=True) if when <= at), meter)
            length = Fraction(4 * meter[0], meter[1])
            cut = min((when for when in changes if at < when < at + length), default=at + length)
            bars.append(Bar(str(len(bars) + 1), cut - at, meter))
            starts.append(at)
            at = cut
        return tuple(bars), starts

    def parts(self, grid: int, starts: list[Fraction], said: list[str]) -> list[Part]:
        strings = self.strings()
        if strings is not None:
            said.append("each channel is a string of one guitar")
            groups = {(0, 0): self.struck}
        else:
            groups = {}
            for note in self.struck:
                groups.setdefault((note.track, note.channel), []).append(note)
        parts = []
        for (track, channel), notes in groups.items():
            made = tuple(self.made(note, grid, starts, strings) for note in notes)
            name = self.names.get(track, "") or f"channel {channel + 1}"
            kept = sorted(made, key=lambda note: (note.bar, note.at, note.pitch))
            parts.append(
                Part(
                    id=f"{track + 1}.{channel + 1}",
                    name=name,
                    notes=tuple(kept),
                    voices=("1",),
                    tuning=self.tuning,
                    capo=self.capo,
                    program=self.programs.get(channel),
                )
            )
        return parts

    def made(self, note: _Struck, grid: int, starts: list[Fraction], strings: dict[int, int] | None) -> Note:
        onset = Fraction(round(Fraction(note.start, self.quarter) * grid), grid)
        # Notes are left less evenly than they are struck, and shorter ones than the grid are meant.
        finer = grid * (_ENDS if grid < _ENDS else 1)
        end = Fraction(round(Fraction(note.end, self.quarter) * finer), finer)
        bar = max(bisect_right(starts, onset) - 1, 0)
        printed = Printed() if strings is None else Printed(string=strings[note.channel])
        return Note(bar, onset - starts[bar], max(end - onset, Fraction(1, finer)), note.pitch, printed=printed)

    def strings(self) -> dict[int, int] | None:
        """Return the string of each channel where each channel is one; None where they are not.

        They are where three or more channels sound one guitar: one note at a time on each, each within the neck of
        its string. Channel 1 is string 1 where that fits, as MIDI guitars in mono mode have it, else the last.
        """
        channels = sorted({note.channel for note in self.struck})
        programs = {self.programs.get(channel) for channel in channels}
        if len(channels) < 3 or len(programs) > 1 or not self.one_at_a_time():
            return None
        instrument = Instrument() if self.tuning is None else Instrument(tuning=self.tuning, capo=self.capo)
        count = instrument.strings
        # The channel of percussion is skipped where a guitar has more strings than channels before it.
        ranks = {channel: channel - (channel > DRUMS) for channel in channels}
        for turned in (False, True):
            for base in range(ranks[channels[0]] + 1):
                found = {channel: ranks[channel] - base + 1 for channel in channels}
                if turned:
                    found = {channel: count + 1 - string for channel, string in found.items()}
                if all(1 <= string <= min(count, MOST_STRINGS) for string in found.values()) and all(
                    0 <= note.pitch - instrument.pitch(found[note.channel], 0) <= instrument.frets
                    for note in self.struck
                ):
                    return found
        return None

    def one_at_a_time(self) -> bool:
        ends: dict[int, int] = {}
        for note in self.struck:
            if note.start < ends.get(note.channel, 0) - self.quarter // 16:
                return False
            ends[note.channel] = note.end
        return True


_TAKES: Mapping[str, Callable[[_Reading, Any], None]] = {
    "note_on": _Reading.note,
    "note_off": _Reading.note,
    "set_tempo": _Reading.set_tempo,
    "time_signature": _Reading.meter,
    "track_name": _Reading.name,
    "program_change": _Reading.program,
    "text": _Reading.text,
}
"""What takes each kind of message."""
_NO_MATTER = frozenset({"end_of_track", "key_signature"})
"""Messages that say nothing of what is played: every note says its own pitch."""
