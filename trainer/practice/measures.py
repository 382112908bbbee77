"""What is measured of one change that was heard, and what is kept of it. Values only."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from statistics import median

from trainer.practice.flaws import Fault
from trainer.practice.record import Texture


class Direction(StrEnum):
    """How the notes of a shape followed each other when they were struck."""

    BLOCK = "block"
    """Together, up to a set bound."""
    BASS_FIRST = "bass first"
    """Rolled from the bass string."""
    TREBLE_FIRST = "treble first"
    """Rolled from the treble string."""


class Answer(StrEnum):
    """What can be said of a finger from the sound alone."""

    YES = "yes"
    """It was heard."""
    NO = "no"
    """The contrary was heard."""
    NOT_HEARD = "not heard"
    """Neither; never held against the player."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measured:
    """The measures that are kept as they were taken. None or empty wherever one cannot be known.

    `_ms` are milliseconds.
    """

    change_ms: float | None = None
    """Block or rolled: landing minus the first end of a fretted note of the old shape that is not kept."""
    strike_ms: float | None = None
    """Landing minus the last onset of the old shape; includes how long it was held."""
    delay_ms: float | None = None
    """Figure or in tempo: the largest onset minus its written place at the played tempo."""
    lateness_ms: float | None = None
    """In tempo, block or rolled: first onset minus its beat (last onset where a roll arrives on the beat)."""
    gap_ms: float | None = None
    """First onset minus the latest end of the old shape's fretted notes that are not kept; negative = overlap."""
    gap_melody_ms: float | None = None
    """The same of the melody alone."""
    gap_bass_ms: float | None = None
    """The same of the bass alone."""
    spread_ms: float | None = None
    """Last minus first onset among notes written together; None for a single note."""
    direction: Direction | None = None
    """Block up to a set bound of the spread, else which end came first."""
    kept_down: Mapping[int, Answer] = field(default_factory=dict)
    """For each finger that should stay down, whether it did."""
    guides: Mapping[int, Answer] = field(default_factory=dict)
    """For each finger that slides, whether the slide was heard; only ever yes where the drill asks for its sound."""
    wrong: tuple[int, ...] = ()
    """MIDI notes struck that the shape has not, in order of time."""
    octaves: tuple[tuple[int | None, int], ...] = ()
    """(string, MIDI note heard) of notes that were heard an octave or two off, or a twelfth above."""
    missing: tuple[tuple[int | None, int], ...] = ()
    """(string, MIDI note) of every plucked note that was not heard, last string first; string None where unknown."""
    balance: float | None = None
    """Velocity of the melody minus the mean of the others struck within one beat."""


@dataclass(frozen=True, slots=True)
class HeardChange(_Measured):
    """Every measure of one change that was heard. Seconds are on the clock of the events it was heard from."""

    index: int
    """Counts the changes as played from 0, round after round, repeats of the same shape included."""
    before: int
    """Index in the drill of the shape that was left."""
    after: int
    """Index in the drill of the shape that was played next."""
    expected: bool
    """False where the player skipped a shape or went back, so that it is no change of the drill."""
    texture: Texture
    """How the shape was to be struck."""
    struck_s: float
    """Last onset of the shape that was left."""
    landed_s: float | None = None
    """Block or rolled: when every plucked note had been struck and none was lost. Figure: the last plucked note."""
    clean: bool | None = None
    """Every plucked note, none wrong, none missing, none cut short; None until the next shape starts."""
    done: bool = False
    """True once the next shape has started, or the playing is over: nothing of this changes any more."""
    faults: tuple[Fault, ...] = ()
    """Everything there is to mend, the first to be named in front."""

    @property
    def landed(self) -> bool:
        """Tell whether the shape was reached."""
        return self.landed_s is not None

    @property
    def mend(self) -> str | None:
        """The one thing to mend, in words; None where there is nothing."""
        return self.faults[0].words if self.faults else None


@dataclass(frozen=True, slots=True)
class Measures(_Measured):
    """What is kept of one heard change beside when it landed and whether it was clean.

    Its change time is the one of the whole change: an end heard after the landing may have corrected it. Raises
    ValueError where a number is not finite.
    """

    device: str
    """What it was heard from, as the system calls it."""
    calibration: str
    """Which latencies and levels were taken off, in words."""
    expected: bool = True
    """False where the player skipped a shape or went back."""

    def __post_init__(self) -> None:
        # A database turns NaN into "unknown" and JSON has no word for infinity, so both stop here.
        for number in (getattr(self, name) for name in NUMBERS):
            if number is not None and not math.isfinite(number):
                raise ValueError(f"not a finite number: {number}")

    @property
    def kept(self) -> tuple[int, int]:
        """How many fingers stayed down, and of how many that should have it can be said."""
        answers = tuple(self.kept_down.values())
        stayed = answers.count(Answer.YES)
        return stayed, stayed + answers.count(Answer.NO)


NUMBERS = (
    "change_ms",
    "strike_ms",
    "delay_ms",
    "lateness_ms",
    "gap_ms",
    "gap_melody_ms",
    "gap_bass_ms",
    "spread_ms",
    "balance",
)
"""The measures that are one number each."""


def measures_of(change: HeardChange, device: str, calibration: str) -> Measures:
    """Return what is kept of `change`, which was heard from `device` with `calibration` taken off."""
    same = (one.name for one in fields(Measures) if one.name not in {"device", "calibration"})
    return Measures(device, calibration, **{name: getattr(change, name) for name in same})


@dataclass(frozen=True, slots=True)
class Summary:
    """A run of heard changes in five numbers."""

    changes: int
    """How many were played."""
    landed: int
    """How many of them landed."""
    clean: int
    """How many were clean; those that nothing can be said of are not among them."""
    median_change_ms: float | None
    """Median change time of those that have one."""
    median_gap_ms: float | None
    """Median gap of those that have one."""


def summarise(changes: Iterable[HeardChange]) -> Summary:
    """Return the summary of `changes`, each given once."""
    every = tuple(changes)
    return Summary(
        changes=len(every),
        landed=sum(change.landed for change in every),
        clean=sum(change.clean is True for change in every),
        median_change_ms=_median(change.change_ms for change in every),
        median_gap_ms=_median(change.gap_ms for change in every),
    )


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None
