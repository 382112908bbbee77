"""Note events as the matcher takes them, whatever they came from (a port, a file)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class NoteOn:
    """A string was struck, or a finger made it sound."""

    at: float
    """Monotonic seconds for a live port, seconds from the start of the file for a file."""
    pitch: int
    """MIDI note number."""
    velocity: int
    """1 to 127."""
    string: int | None = None
    """String number, 1 nearest the floor; None where the source does not tell strings apart."""


@dataclass(frozen=True, slots=True)
class NoteOff:
    """A note has ended."""

    at: float
    """As in `NoteOn`."""
    pitch: int
    """MIDI note number of the note that ends."""
    string: int | None = None
    """As in `NoteOn`."""


@dataclass(frozen=True, slots=True)
class Bend:
    """The pitch of everything sounding on a string moved."""

    at: float
    """As in `NoteOn`."""
    semitones: float
    """Distance from the unbent pitch, positive is up."""
    string: int | None = None
    """The string it applies to; None: every string of the source."""


NoteEvent: TypeAlias = NoteOn | NoteOff | Bend
