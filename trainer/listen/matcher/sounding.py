"""What sounds: note events turned into notes with a beginning and an end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

from trainer.listen.matcher.settings import Settings
from trainer.practice.notes import Bend, NoteOff, NoteOn

Key: TypeAlias = tuple[int | None, int]
"""(string or None where the source does not tell, MIDI note)."""

FAULTY_INTERVALS = (-24, -12, 12, 19, 24)
"""Semitones by which a tracker mistakes a harmonic for the note: octaves and the third partial."""


@dataclass(slots=True, eq=False)
class Note:
    """One note that was heard. The only record of it: its end is filled in when it comes."""

    on: float
    """Onset in seconds."""
    key: Key
    """String and sounding pitch at the onset, bend counted in."""
    velocity: int
    """1 to 127."""
    legato: bool
    """True where its string was sounding, or had been silent for no longer than a legato allows."""
    bent: float = 0.0
    """The bend at the onset, in semitones."""
    off: float | None = None
    """When its own note-off came."""
    next: Note | None = None
    """The note that its string took up while this one had not ended."""
    low: float = 0.0
    """Lowest the pitch went while it sounded, in semitones from `key`."""
    high: float = 0.0
    """Highest it went, likewise."""
    void: bool = False
    """True where it proved too short to have been struck."""

    @property
    def string(self) -> int | None:
        """The string, None where not known."""
        return self.key[0]

    @property
    def pitch(self) -> int:
        """The sounding MIDI note at the onset."""
        return self.key[1]

    @property
    def end(self) -> float | None:
        """When it ended: its note-off, or the next note on its string; None while it sounds or where never told."""
        follower = self.next
        if follower is None or follower.void:
            return self.off
        return follower.on if self.off is None else min(self.off, follower.on)

    def gone(self, at: float) -> bool:
        """Tell whether it had ended before `at`."""
        end = self.end
        return end is not None and end < at


def each_once(notes: Iterable[Note]) -> list[Note]:
    """Return each note once, in order: without strings, one note may fill several slots."""
    return list(dict.fromkeys(notes))


class Sounding:
    """The notes that sound now, by string where strings are told apart."""

    def __init__(self, settings: Settings) -> None:
        self._legato = settings.legato_s
        self._filters = settings.filters
        self._open: dict[Key, Note] = {}
        self._latest: dict[Key | int, Note] = {}
        self._bends: dict[int | None, float] = {}

    def on(self, event: NoteOn) -> Note:
        """Return the note that `event` begins."""
        string = event.string
        bend = self._bends.get(string, self._bends.get(None, 0.0))
        pitch = event.pitch + round(bend) if bend else event.pitch
        voice: Key | int = (None, pitch) if string is None else string
        before = self._latest.get(voice)
        legato = before is not None and (before.off is None or event.at - before.off <= self._legato)
        note = Note(event.at, (string, pitch), event.velocity, legato, bend)
        if before is not None and before.next is None and (before.off is None or before.off > event.at):
            before.next = note
        self._latest[voice] = note
        self._open[string, event.pitch] = note
        return note

    def off(self, event: NoteOff) -> None:
        """End the note that `event` names; one that is not sounding is no matter."""
        note = self._open.pop((event.string, event.pitch), None)
        if note is None:
            return
        note.off = event.at
        length = event.at - note.on
        shortest = self._filters.ghost_s if note.velocity < self._filters.quiet else self._filters.shortest_s
        note.void = length < shortest

    def bend(self, event: Bend) -> None:
        """Move the pitch of what sounds on the string of `event`, or of everything where it names none."""
        if event.string is None:
            for string in (*self._bends, None):
                self._bends[string] = event.semitones
            notes = list(self._open.values())
        else:
            latest = self._latest.get(event.string)
            notes = [] if latest is None or latest.off is not None else [latest]
        self._bends[event.string] = event.semitones
        for note in notes:
            moved = event.semitones - note.bent
            note.low = min(note.low, moved)
            note.high = max(note.high, moved)
