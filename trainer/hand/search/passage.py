"""What is to be fingered: notes with onset, duration and pitch, and whatever of their fingering is already set.

Times are fractions of a quarter note from the start of the passage. Everything from pitches only to all but one note
fingered is a passage; what is set (`string`, `fret`, `finger`, a barre) is a pin that the search keeps to.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from trainer.errors import wrong
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import note_name

MOST_NOTES = 4000
"""Notes beyond which a passage is better fingered in parts."""


@dataclass(frozen=True, slots=True)
class Note:
    """One note that is struck; a tied continuation is part of its duration."""

    onset: Fraction
    """When it is struck."""
    duration: Fraction
    """How long it sounds, ties included; more than 0."""
    midi: int
    """MIDI note number as it sounds."""
    string: int | None = None
    """The string it must be played on; None: any."""
    fret: int | None = None
    """The fret it must be played at, counted from the capo; None: any."""
    finger: int | None = None
    """The finger that must stop it, 0 for open; None: any."""
    ring: bool = False
    """True where it should ring on, over as written, as long as a hand can let it and `RING_FOR` at most."""
    stopped: bool = False
    """True where it must not be the open string."""
    bar: int | None = None
    """The bar it stands in, for those who read the result; None where not known."""

    @property
    def end(self) -> Fraction:
        """When it stops sounding, as written."""
        return self.onset + self.duration

    @property
    def name(self) -> str:
        """Its pitch as players say it: `E4`."""
        return note_name(self.midi)


@dataclass(frozen=True, slots=True)
class BarrePin:
    """A barre that the passage asks for while notes are struck in `start` to `end` (not included)."""

    start: Fraction
    """Quarter notes from the start of the passage."""
    end: Fraction
    """Likewise."""
    fret: int
    """Where it lies, counted from the capo."""
    finger: int = 1
    """The finger that lies across."""
    low_string: int | None = None
    """The string at its bass end; None: as far as it must."""
    high_string: int | None = None
    """The string at its treble end; None: as far as it must."""


@dataclass(frozen=True, slots=True)
class Slice:
    """One moment at which something is struck."""

    onset: Fraction
    """When."""
    struck: tuple[int, ...]
    """Indices of the notes struck, lowest pitch first."""
    held: tuple[int, ...]
    """Indices of the notes struck before that are written to sound on."""
    ringing: tuple[int, ...]
    """Indices of the notes struck before, over as written, that a hand would let ring: broken chords."""


@dataclass(frozen=True)
class Passage:
    """Notes on an instrument, in order of time and pitch. Immutable."""

    notes: tuple[Note, ...]
    """At least one; sorted by onset, then pitch."""
    instrument: Instrument = field(default_factory=Instrument)
    """Tuning, capo and geometry."""
    barres: tuple[BarrePin, ...] = ()
    """Barres asked for."""

    @classmethod
    def of(
        cls, notes: Iterable[Note], instrument: Instrument | None = None, barres: Iterable[BarrePin] = ()
    ) -> Passage:
        """Return the passage of `notes` in any order. Raises ChangeoverError where one of them makes no sense."""
        kept = tuple(sorted(notes, key=lambda note: (note.onset, note.midi, note.string or 0)))
        if not kept:
            raise wrong("a passage without notes")
        instrument = instrument or Instrument()
        for note in kept:
            _check(note, instrument)
        return cls(kept, instrument, tuple(barres))

    @cached_property
    def slices(self) -> tuple[Slice, ...]:
        """Every moment at which something is struck, in order."""
        return _slices(self.notes)

    def pinned(self, pins: Mapping[int, Note]) -> Passage:
        """Return the passage with the notes at the given indices replaced; their times and pitches must agree."""
        return Passage.of(
            (pins.get(index, note) for index, note in enumerate(self.notes)), self.instrument, self.barres
        )

    def bare(self) -> Passage:
        """Return the passage with nothing set: pitches, onsets and durations only."""
        return replace(
            self,
            notes=tuple(replace(note, string=None, fret=None, finger=None) for note in self.notes),
            barres=(),
        )


RING_FOR = Fraction(2)
"""A broken chord's note is let ring for this many quarter notes at most (common practice, no source)."""
STEP = 2
"""Two notes this many semitones apart or closer are a line, not a broken chord."""


def _slices(notes: tuple[Note, ...]) -> tuple[Slice, ...]:
    onsets = sorted({note.onset for note in notes})
    by_onset: dict[Fraction, list[int]] = {onset: [] for onset in onsets}
    for index, note in enumerate(notes):
        by_onset[note.onset].append(index)
    found: list[Slice] = []
    alive: list[int] = []
    for onset in onsets:
        struck = by_onset[onset]
        pitches = [notes[index].midi for index in struck]
        alive = [index for index in alive if _lives(notes[index], onset, pitches)]
        held = tuple(index for index in alive if notes[index].end > onset)
        ringing = tuple(index for index in alive if notes[index].end <= onset)
        found.append(Slice(onset, tuple(struck), held, ringing))
        alive += struck
    return tuple(found)


def _lives(note: Note, onset: Fraction, pitches: list[int]) -> bool:
    """Tell whether an earlier note sounds or would be let ring on when `pitches` are struck at `onset`."""
    if note.midi in pitches:
        return False
    if note.end > onset or (note.ring and onset - note.end < RING_FOR):
        return True
    return onset - note.onset < RING_FOR and all(abs(pitch - note.midi) > STEP for pitch in pitches)


def _check(note: Note, instrument: Instrument) -> None:
    where = f"{note.name} at {note.onset}"
    if note.duration <= 0 or note.onset < 0:
        raise wrong(f"{where} lasts {note.duration}", hint="onset from 0, duration more than 0")
    if note.string is not None and not 1 <= note.string <= instrument.strings:
        raise wrong(f"{where} on string {note.string}", hint=f"strings 1 to {instrument.strings}")
    if note.finger is not None and not 0 <= note.finger <= 4:
        raise wrong(f"{where} by finger {note.finger}", hint="fingers 0 (open) to 4")
    if note.string is not None and note.fret is not None and instrument.pitch(note.string, note.fret) != note.midi:
        raise wrong(
            f"{where} at string {note.string}, fret {note.fret}",
            hint=f"that is {note_name(instrument.pitch(note.string, note.fret))}",
        )
