"""Single plucks out of what a guitar sends while it is set up: what the hand did, without the tracker's ghosts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.listen import wire
from trainer.listen.matcher.settings import Filters

WINDOW_S = 0.15
"""What comes within this after the first note of a pluck belongs to it: false starts, octaves that are put right, other
strings that ring along. Nobody plucks single strings on purpose faster than six in a second."""
_FILTERS = Filters()
FLOOR = _FILTERS.floor
"""A note softer than this (MIDI velocity) was never struck."""
QUIET = _FILTERS.quiet
"""A note softer than this that is over within the window is a ghost."""
SHORT_S = 0.05
"""Any note that is over within this is a false start (usual filters: 30 to 50 ms, from memory)."""
TOGETHER = 0.7
"""Another string at this share of the loudest note's velocity was plucked too; what rings along is softer."""


@dataclass(frozen=True, slots=True)
class Pluck:
    """One string, plucked once."""

    at: float
    """When, seconds on the clock of the messages."""
    channel: int
    """1 to 16."""
    pitch: int
    """MIDI note."""
    velocity: int
    """1 to 127."""
    alone: bool = True
    """False where another string sounded as loud at the same time."""


@dataclass(frozen=True, slots=True)
class _Note:
    at: float
    channel: int
    pitch: int
    velocity: int
    off: float | None = None


@dataclass(frozen=True, slots=True)
class Plucks:
    """What came in since the pluck under way began."""

    notes: tuple[_Note, ...] = ()
    """Its notes, those that are over included."""

    def feed(self, at: float, message: wire.Message) -> tuple[Plucks, Pluck | None]:
        """Take a message, and return the pluck that was over before it, where there was one."""
        after, pluck = self.tick(at)
        status, channel, pitch, velocity = message
        if status == wire.NOTE_ON and velocity >= FLOOR:
            after = Plucks((*after.notes, _Note(at, channel, pitch, velocity)))
        elif status == wire.NOTE_OFF or (status == wire.NOTE_ON and velocity == 0):
            ends = (channel, pitch)
            after = Plucks(
                tuple(
                    replace(note, off=at) if note.off is None and (note.channel, note.pitch) == ends else note
                    for note in after.notes
                )
            )
        return after, pluck

    def tick(self, now: float) -> tuple[Plucks, Pluck | None]:
        """Let time pass, and return the pluck whose window is over by `now`."""
        if not self.notes or now - self.notes[0].at < WINDOW_S:
            return self, None
        return Plucks(), self._pluck()

    def _pluck(self) -> Pluck | None:
        """Return the note that was meant: one that still sounds before one that is over, then the loudest."""
        real = [note for note in self.notes if not _ghost(note)]
        if not real:
            return None
        best = max(real, key=lambda note: (note.off is None, note.velocity, -note.at))
        others = [
            note
            for note in real
            if note.channel != best.channel or (note.pitch != best.pitch and note.off is None)
            if note.velocity >= TOGETHER * best.velocity
        ]
        first = min(note.at for note in real if note.channel == best.channel)
        return Pluck(first, best.channel, best.pitch, best.velocity, alone=not others)


def _ghost(note: _Note) -> bool:
    return note.off is not None and (note.velocity < QUIET or note.off - note.at < SHORT_S)
