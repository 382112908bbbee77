"""A score as it was written, whatever the file it came from: parts, bars and notes, and what could not be read.

Times are fractions of a quarter note. A note knows its bar and its place in that bar, so bars can be played in
another order than they are written in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from trainer.fretboard.shape import Shape


class Tie(StrEnum):
    """What a note has to do with its neighbours of the same pitch."""

    NONE = "none"
    """It is struck and ends."""
    START = "start"
    """It is struck and sounds on."""
    MIDDLE = "middle"
    """It sounds on, both ways."""
    STOP = "stop"
    """It ends a note that was struck earlier."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What the print says about how one note is played; every value None or empty where nothing is said."""

    string: int | None = None
    """1 is the string nearest the floor."""
    fret: int | None = None
    """Counted from the capo."""
    fingers: tuple[int, ...] = ()
    """Fretting hand, 0 an open string; several in a row: a finger takes over from another (substitution)."""
    alternatives: tuple[int, ...] = ()
    """Fingers offered instead."""
    pluck: str | None = None
    """p, i, m or a."""
    marks: frozenset[str] = frozenset()
    """`slur start`, `slide stop`, `arpeggiate up`, `hammer-on start`, `harmonic` and the like."""


NOTHING_PRINTED = Printed()
"""A note of which nothing is said but its pitch."""


@dataclass(frozen=True, slots=True)
class Note:
    """One written note head."""

    bar: int
    """Index of its bar."""
    at: Fraction
    """Where in the bar it begins, in quarters."""
    duration: Fraction
    """How long it is written, in quarters; 0 for a grace note."""
    pitch: int
    """As written: MIDI note number before transposition."""
    voice: str = "1"
    """The file's name for its voice."""
    staff: int = 1
    """1 is the upper staff of its part."""
    tie: Tie = Tie.NONE
    """Whether it is struck, and whether it sounds on."""
    grace: bool = False
    """True for a small note that takes its time from its neighbour."""
    printed: Printed = NOTHING_PRINTED
    """Strings, frets and fingers."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A chord symbol or a chord diagram."""

    bar: int
    """Index of its bar."""
    at: Fraction
    """Where in the bar it stands, in quarters."""
    name: str = ""
    """As it is shown, `Am7/G`; empty where the diagram stands alone."""
    shape: Shape | None = None
    """What its diagram holds; None where it has none."""
    staff: int | None = None
    """The staff it belongs to, None where it does not say."""


@dataclass(frozen=True, slots=True)
class BarreText:
    """A barre said in words, as `C III` or `1/2 C V`."""

    bar: int
    """Index of its bar."""
    at: Fraction
    """Where in the bar it begins, in quarters."""
    fret: int
    """The fret it lies at."""
    share: Fraction | None = None
    """How much of the strings it covers, None where the text does not say."""
    text: str = ""
    """As written."""


@dataclass(frozen=True, slots=True)
class Staff:
    """What one staff of a part says of how its notes are meant; it may change from a bar on."""

    bar: int
    """Index of the first bar it holds for."""
    staff: int
    """1 is the upper staff."""
    clef: str = "G"
    """G, F, C, TAB, percussion or none."""
    clef_octave: int = 0
    """Octaves the clef says its notes sound away from where they stand; pitches in files have it counted in."""


@dataclass(frozen=True, slots=True)
class Part:
    """One player's notes."""

    id: str
    """The file's name for it."""
    name: str
    """As shown in the score; may be empty."""
    notes: tuple[Note, ...]
    """In order of bar and place."""
    voices: tuple[str, ...] = ()
    """The names of its upper staff's voices, those that only rest included, in order."""
    symbols: tuple[Symbol, ...] = ()
    """Chord symbols and diagrams, in order."""
    barres: tuple[BarreText, ...] = ()
    """Barres said in words, in order."""
    staves: tuple[Staff, ...] = ()
    """Clefs, in order."""
    tuning: tuple[int, ...] | None = None
    """Open strings low to high, None where the file does not say."""
    capo: int = 0
    """The fret a capo lies at."""
    transpose: int | None = None
    """Semitones from a written pitch to the sounding one; None where the file does not say."""
    program: int | None = None
    """General MIDI program from 1, None where not said."""
    sound: str = ""
    """The file's name for its instrument's sound, `pluck.guitar.nylon-string`."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar, the same for every part."""

    number: str
    """As printed; a pickup is often 0."""
    length: Fraction
    """In quarters, as filled: a pickup is shorter than its meter."""
    meter: tuple[int, int] = (4, 4)
    """Beats in a bar and the note value of one."""
    pickup: bool = False
    """True where the file says that it does not count."""
    opens: bool = False
    """True where a repeated run begins."""
    closes: int = 0
    """How often the run that ends here is played; 0 where none ends."""
    endings: frozenset[int] = frozenset()
    """The rounds in which it is played; empty: in every one."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo mark."""

    bar: int
    """Index of its bar."""
    at: Fraction
    """Where in the bar it stands, in quarters."""
    quarters: float
    """Quarter notes a minute."""


@dataclass(frozen=True, slots=True)
class Unread:
    """Something in the file that the reader knows no use for."""

    bar: str
    """The number of the bar it stands in; empty outside bars."""
    what: str
    """The element and, where it helps, its value."""
    count: int = 1
    """How often it stands there."""
    line: int | None = None
    """Where it stands first."""


@dataclass(frozen=True, slots=True)
class Score:
    """Everything that was understood of a file, and a list of what was not."""

    parts: tuple[Part, ...]
    """In the order of the file."""
    bars: tuple[Bar, ...]
    """In written order."""
    tempos: tuple[Tempo, ...] = ()
    """In order."""
    title: str = ""
    """What it is called."""
    composer: str = ""
    """Who wrote it."""
    understood: Mapping[str, int] = field(default_factory=dict)
    """How many of each kind of thing were read: notes, string, fret, fingering, frame, tie and so on."""
    unread: tuple[Unread, ...] = ()
    """What was met and not used, in order."""
    said: tuple[str, ...] = ()
    """What the reader decided for itself, a sentence each."""
