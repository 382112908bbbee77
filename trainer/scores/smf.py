"""Standard MIDI Files 0 and 1 read as scores: tempo, meter, a string to a channel where that is how they were made.

A file holds pitches and times, no names of strings or fingers; times that were played are put on a grid.
"""

from __future__ import annotations

import io
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

import mido  # type: ignore[import-untyped]  # it ships no types

from trainer.errors import wrong
from trainer.fretboard.instrument import MOST_STRINGS, Instrument
from trainer.scores.score import Bar, Note, Part, Printed, Score, Tempo, Unread
from trainer.scores.smf_events import DRUMS, Events, Struck

MOST_BYTES = 512 * 1024
"""A file larger than this is refused before it is read; one of 4,400 notes has about 50 kB."""
MOST_BARS = 20_000
GRIDS = (1, 2, 3, 4, 6, 8, 12, 16, 24)
"""Parts of a quarter that a grid may have, coarsest first."""
_OFF, _SHARE = Fraction(1, 24), 0.95
"""A grid fits where this share of the notes lies within this part of a quarter of it (ours, no source)."""
_PLAYED = 12
"""Parts of a quarter where none of these fits: the times were played."""
_ENDS = 4
"""Parts of a quarter at least that ends of notes are told apart by."""
_DEFAULT_TEMPO = 500_000
"""Microseconds a quarter where a file says nothing (SMF 1.0)."""


def read(data: bytes, file: str) -> Score:
    """Return the score in `data`. Raises ChangeoverError where it is no sound MIDI file of format 0 or 1."""
    if len(data) > MOST_BYTES:
        raise wrong(f"is larger than {MOST_BYTES // 1024} KB", file=file, hint="a MIDI file of a piece is far smaller")
    _check_head(data, file)
    try:
        opened = mido.MidiFile(file=io.BytesIO(data))
    except (OSError, EOFError, ValueError, LookupError, TypeError, ArithmeticError) as error:
        raise wrong(f"is no sound MIDI file: {error or 'it ends early'}", file=file, hint="save it again") from None
    return _score(Events(opened), file)


def _check_head(data: bytes, file: str) -> None:
    if len(data) < 14:
        raise wrong("is no whole MIDI file", file=file, hint="it may be cut short; fetch it again")
    kind, division = int.from_bytes(data[8:10], "big"), int.from_bytes(data[12:14], "big")
    if kind > 1:
        raise wrong(f"is a MIDI file of format {kind}", file=file, hint="formats 0 and 1 are read")
    if division == 0 or division & 0x8000:
        raise wrong("counts in seconds, not in beats", file=file, hint="save it with ticks to a quarter note")


def _score(events: Events, file: str) -> Score:
    if not events.struck:
        raise wrong("has no notes", file=file, hint="percussion is not counted")
    grid, moved = _grid(events)
    bars, starts = _bars(events, file)
    placing = _Placing(events.quarter, grid, starts)
    strings = _strings(events)
    on_strings = "each channel is a string of one guitar" if strings is not None else ""
    tempos = [(tick, tempo) for tick, tempo in sorted(events.tempos) if tempo > 0] or [(0, _DEFAULT_TEMPO)]
    return Score(
        parts=_parts(events, placing, strings),
        bars=bars,
        tempos=tuple(placing.tempo(tick, tempo) for tick, tempo in tempos),
        title=events.names.get(0, ""),
        understood={"notes": len(events.struck), "tempo": len(events.tempos), "meter": len(events.meters)},
        unread=tuple(Unread("", kind, count) for kind, count in events.unread.items()),
        said=tuple(words for words in (moved, on_strings) if words),
    )


@dataclass(frozen=True, slots=True)
class _Placing:
    """Where ticks come to lie in a score."""

    quarter: int
    """Ticks to a quarter note."""
    grid: int
    """Parts of a quarter that notes are put on."""
    starts: list[Fraction]
    """Quarters at which each bar begins."""

    def note(self, struck: Struck, string: int | None) -> Note:
        onset = self._nearest(struck.start, self.grid)
        # Notes are left less evenly than they are struck, and shorter ones than the grid are meant.
        finer = self.grid * (_ENDS if self.grid < _ENDS else 1)
        length = max(self._nearest(struck.end, finer) - onset, Fraction(1, finer))
        return Note(*self._in_bar(onset), length, struck.pitch, printed=Printed(string=string))

    def tempo(self, tick: int, tempo: int) -> Tempo:
        return Tempo(*self._in_bar(Fraction(tick, self.quarter)), 60_000_000 / tempo)

    def _nearest(self, tick: int, parts: int) -> Fraction:
        return Fraction(round(Fraction(tick, self.quarter) * parts), parts)

    def _in_bar(self, onset: Fraction) -> tuple[int, Fraction]:
        """Return the index of the bar that an onset lies in, and its place there."""
        bar = max(bisect_right(self.starts, onset) - 1, 0)
        return bar, onset - self.starts[bar]


def _grid(events: Events) -> tuple[int, str]:
    """Return into how many parts a quarter is cut, the fewest that most notes agree with, and what that moved."""
    onsets = [Fraction(note.start, events.quarter) for note in events.struck]

    def off(parts: int) -> list[Fraction]:
        return [abs(onset * parts - round(onset * parts)) / parts for onset in onsets]

    fits = (parts for parts in GRIDS if sum(each <= _OFF for each in off(parts)) >= _SHARE * len(onsets))
    parts = next(fits, _PLAYED)
    moved = max(off(parts))
    words = f"notes put on a grid of {parts} to a quarter; the furthest is moved {float(moved):.3f} quarters"
    return parts, words if moved else ""


def _bars(events: Events, file: str) -> tuple[tuple[Bar, ...], list[Fraction]]:
    """Return the bars up to the last note, and where each begins."""
    end = max(Fraction(note.end, events.quarter) for note in events.struck)
    changes = {
        Fraction(tick, events.quarter): (top, bottom)
        for tick, top, bottom in sorted(events.meters)
        if top and bottom <= 64
    }
    bars: list[Bar] = []
    starts: list[Fraction] = []
    at, meter = Fraction(0), (4, 4)
    while at < end:
        if len(bars) >= MOST_BARS:
            raise wrong(f"has more than {MOST_BARS:,} bars", file=file, hint="save a part of it")
        meter = next((changes[when] for when in sorted(changes, reverse=True) if when <= at), meter)
        length = Fraction(4 * meter[0], meter[1])
        cut = min((when for when in changes if at < when < at + length), default=at + length)
        bars.append(Bar(str(len(bars) + 1), cut - at, meter))
        starts.append(at)
        at = cut
    return tuple(bars), starts


def _parts(events: Events, placing: _Placing, strings: dict[int, int] | None) -> tuple[Part, ...]:
    """Return a part for each channel of each track, or one of all where the channels are its strings."""
    groups: dict[tuple[int, int], list[Struck]] = {}
    for struck in events.struck:
        groups.setdefault((struck.track, struck.channel) if strings is None else (0, 0), []).append(struck)
    parts = []
    for (track, channel), group in groups.items():
        notes = [placing.note(struck, None if strings is None else strings[struck.channel]) for struck in group]
        notes.sort(key=lambda note: (note.bar, note.at, note.pitch))
        parts.append(
            Part(
                id=f"{track + 1}.{channel + 1}",
                name=events.names.get(track, "") or f"channel {channel + 1}",
                notes=tuple(notes),
                voices=("1",),
                tuning=events.tuning,
                capo=events.capo,
                program=events.programs.get(channel),
            )
        )
    return tuple(parts)


def _strings(events: Events) -> dict[int, int] | None:
    """Return the string of each channel where each channel is one; None where they are not.

    They are where three or more channels sound one guitar: one note at a time on each, each within the neck of
    its string. Channel 1 is string 1 where that fits, as MIDI guitars in mono mode have it, else the last.
    """
    channels = sorted({note.channel for note in events.struck})
    programs = {events.programs.get(channel) for channel in channels}
    if len(channels) < 3 or len(programs) > 1 or not _one_at_a_time(events):
        return None
    instrument = Instrument() if events.tuning is None else Instrument(tuning=events.tuning, capo=events.capo)
    count = instrument.strings
    # The channel of percussion is skipped where a guitar has more strings than channels before it.
    ranks = {channel: channel - (channel > DRUMS) for channel in channels}
    for turned in (False, True):
        for base in range(ranks[channels[0]] + 1):
            found = {channel: ranks[channel] - base + 1 for channel in channels}
            if turned:
                found = {channel: count + 1 - string for channel, string in found.items()}
            if _on_the_neck(events, found, instrument):
                return found
    return None


def _on_the_neck(events: Events, strings: dict[int, int], instrument: Instrument) -> bool:
    """Tell whether every channel is a string that the instrument has, and every note on its neck."""
    most = min(instrument.strings, MOST_STRINGS)
    return all(1 <= string <= most for string in strings.values()) and all(
        0 <= note.pitch - instrument.pitch(strings[note.channel], 0) <= instrument.frets for note in events.struck
    )


def _one_at_a_time(events: Events) -> bool:
    ends: dict[int, int] = {}
    for note in events.struck:
        if note.start < ends.get(note.channel, 0) - events.quarter // 16:
            return False
        ends[note.channel] = note.end
    return True
