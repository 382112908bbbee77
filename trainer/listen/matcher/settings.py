"""Every threshold of the matcher and its filters, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Filters:
    """What a pitch tracker's faults look like."""

    floor: int = 8
    """A note softer than this (MIDI velocity) was never struck: sympathetic ringing and handling noise. From memory
    of usual practice; a fingertip's softest pluck reads well above it."""
    quiet: int = 40
    """A note softer than this may be a ghost, so it is held back until it has lasted `ghost_s`. A louder one passes at
    once, so that a landing is not confirmed late. From memory: ghosts are high, quiet and short."""
    ghost_s: float = 0.05
    """A quiet note shorter than this is a ghost. Usual filters are 30-50 ms (from memory)."""
    shortest_s: float = 0.03
    """A note of any loudness shorter than this is not counted as wrong: no player damps a string that fast, the fastest
    tremolo strikes one string about every 90 ms."""
    retrigger_s: float = 0.05
    """The same string struck again at the same pitch within this was one pluck, triggered twice. The fastest tremolo
    (four notes to a beat at 160 to the minute) leaves 94 ms."""
    settle_s: float = 0.01
    """A note that begins on a string that is still bent waits this long for the bend to be taken back, which some
    sources do just after the note.
    Longer than a few messages take on a MIDI line (about 1 ms each), shorter than a frame."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the matcher takes as given. Seconds, unless said otherwise."""

    filters: Filters = field(default_factory=Filters)
    """Thresholds against tracker faults."""
    strum_s: float = 0.05
    """Onsets no further apart than this belong to one stroke of the hand. Strums in annotated playing spread over
    11-14 ms at the median, 27-65 ms at most (three comping takes of GuitarSet); neighbours within one lie closer."""
    roll_s: float = 0.2
    """Notes of one roll follow each other within this: six strings in a second, a slow roll (common practice)."""
    block_s: float = 0.05
    """A spread up to this counts as block, from the same strums."""
    cut_s: float = 0.08
    """A silence longer than this before the change is a hole, a shorter one an articulation. Common practice, no
    source; a teacher who wants more legato sets it lower."""
    plant_s: float = 0.15
    """A note that ends no longer than this before its string is struck, or together with all others before the next
    stroke, was ended by the right hand planting. Common practice, no source."""
    decay_s: float = 2.0
    """A note that has sounded this long and ends alone may have faded. In two annotated takes of GuitarSet 202 of 204
    notes were over by 2 s."""
    alone_s: float = 0.25
    """A note whose end has no other end within this ended alone: fingers that let go do so together."""
    leave_s: float = 1.0
    """A faded note does not tell when the hand left, if the rest of the shape went on for longer than this."""
    legato_s: float = 0.03
    """A silence up to this is none: a tracker needs two periods, 24 ms on the lowest string, to hear a new pitch."""
    late_s: float = 0.08
    """More than this after its beat is late. About three times the scatter of a steady player (common practice)."""
    drowned: float = 0.0
    """The melody is drowned where its balance (MIDI velocity) is below this."""
    levelled: bool = False
    """True once the strings' velocities have been levelled; balance means nothing before."""
    roll_ends_on_beat: bool = False
    """True where a roll is to arrive on the beat, not to begin on it."""
    slack_s: float = 0.06
    """How far the time told by a tick runs ahead of events that are still on their way: the slowest string's latency
    (24 ms) and a frame of handling."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Beats in time, for playing in tempo."""

    at: float
    """When the first beat of `step` falls, seconds on the clock of the events."""
    beat_s: float
    """Seconds from one beat to the next."""
    step: int = 0
    """Index of the step that begins at `at`; the others follow as long as each lasts, round after round."""
