"""The instrument: tuning, capo and geometry, in millimetres.

A fret lies at L(1 - 2^(-n/12)) from the nut (equal temperament); strings fan out in straight lines from nut to
saddle. Points are (along, across): along from the nut towards the bridge, across from the neck's centre line,
positive towards the last (bass) string.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TypeAlias

from trainer.errors import wrong
from trainer.fretboard.pitch import midi, note_name

Point: TypeAlias = tuple[float, float]
"""(along, across) in millimetres."""

STANDARD = ("E2", "A2", "D3", "G3", "B3", "E4")
"""The guitar's usual tuning, low to high."""

FEWEST_STRINGS, MOST_STRINGS = 4, 10
_NUT_GAP_MM = 43.0 / 5
_SADDLE_GAP_MM = 58.0 / 5
"""Spacing of a 650 mm classical guitar, outer strings 43 and 58 mm apart (common practice; makers' values vary)."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """Strings, frets and their places. The default is a six-string classical guitar in standard tuning."""

    tuning: tuple[int, ...] = tuple(midi(name) for name in STANDARD)
    """MIDI note number of each open string without capo, low to high: last string first."""
    capo: int = 0
    """The fret the capo lies at; frets of shapes are counted from it."""
    scale_mm: float = 650.0
    """String length from nut to saddle."""
    nut_mm: float | None = None
    """Distance between the outer strings at the nut; None: in proportion to the number of strings."""
    saddle_mm: float | None = None
    """Distance between the outer strings at the saddle; None: in proportion to the number of strings."""
    frets: int = 19
    """Number of frets, counted from the nut."""
    wound: frozenset[int] | None = None
    """Strings that squeak under a slide; None: string 4 and beyond, as on a nylon-string guitar."""
    points: dict[tuple[int, int], Point] = field(init=False, repr=False, compare=False, hash=False)
    """Contact point of each (string, fret), both as in shapes; computed once."""

    def __post_init__(self) -> None:
        """Check every value and lay out the contact points."""
        _check(self)
        object.__setattr__(self, "points", _lay_out(self))

    @classmethod
    def tuned(cls, names: str | Iterable[str], capo: int = 0) -> Instrument:
        """Return an instrument tuned to note names given low to high, `"E2 A2 D3 G3 B3 E4"`."""
        words = names.split() if isinstance(names, str) else names
        return cls(tuning=tuple(midi(word) for word in words), capo=capo)

    @property
    def strings(self) -> int:
        """Number of strings, also the number of the lowest (last) one."""
        return len(self.tuning)

    @property
    def tuning_names(self) -> tuple[str, ...]:
        """Note names of the open strings without capo, low to high."""
        return tuple(note_name(number) for number in self.tuning)

    @property
    def top_fret(self) -> int:
        """The highest fret a shape can use, counted from the capo."""
        return self.frets - self.capo

    def is_wound(self, string: int) -> bool:
        """Tell whether sliding along `string` squeaks."""
        return string >= 4 if self.wound is None else string in self.wound

    def pitch(self, string: int, fret: int) -> int:
        """Return the MIDI note number that `string` sounds at `fret` (0: open), the capo counted in."""
        return self.tuning[self.strings - string] + self.capo + fret

    def fret_mm(self, fret: int) -> float:
        """Return how far from the nut `fret` (counted from the capo) lies, in millimetres."""
        return fret_distance(self.capo + fret, self.scale_mm)

    def point(self, string: int, fret: int) -> Point:
        """Return where a finger touches `string` to stop it at `fret`: right at the fret wire."""
        return self.points[string, fret]

    def distance(self, a: tuple[int, int], b: tuple[int, int]) -> float:
        """Return the straight line in millimetres between two (string, fret) places."""
        return math.dist(self.points[a], self.points[b])


def fret_distance(fret: int, scale_mm: float) -> float:
    """Return the distance in millimetres from the nut to a fret counted from the nut: L(1 - 2^(-n/12))."""
    return float(scale_mm * (1 - 2 ** (-fret / 12)))


def _check(instrument: Instrument) -> None:
    strings, frets, tuning = instrument.strings, instrument.frets, instrument.tuning
    limits: tuple[tuple[str, str, float | None, float, float], ...] = (
        ("strings", "tuning", strings, FEWEST_STRINGS, MOST_STRINGS),
        ("frets", "frets", frets, 1, 36),
        ("capo at fret", "capo", instrument.capo, 0, frets - 1),
        ("scale in mm", "scale_mm", instrument.scale_mm, 200, 1200),
        ("outer strings at the nut in mm", "nut_mm", instrument.nut_mm, 10, 200),
        ("outer strings at the saddle in mm", "saddle_mm", instrument.saddle_mm, 10, 200),
        ("lowest open string as MIDI note", "tuning", min(tuning, default=0), 0, 127),
        ("highest open string as MIDI note", "tuning", max(tuning, default=0), 0, 127 - frets),
        ("lowest wound string", "wound", min(instrument.wound or {1}), 1, strings),
        ("highest wound string", "wound", max(instrument.wound or {1}), 1, strings),
    )
    for what, key, value, low, high in limits:
        # A NaN fails every comparison, so it is refused here too.
        if value is not None and not low <= value <= high:
            raise wrong(f"{what}: {value}", key=key, hint=f"from {low} to {high}")


def _lay_out(instrument: Instrument) -> dict[tuple[int, int], Point]:
    gaps = instrument.strings - 1
    nut = _NUT_GAP_MM * gaps if instrument.nut_mm is None else instrument.nut_mm
    saddle = _SADDLE_GAP_MM * gaps if instrument.saddle_mm is None else instrument.saddle_mm
    return _contact_points(instrument.strings, instrument.capo, instrument.top_fret, instrument.scale_mm, nut, saddle)


@lru_cache(maxsize=64)
def _contact_points(
    strings: int, capo: int, top_fret: int, scale_mm: float, nut_mm: float, saddle_mm: float
) -> dict[tuple[int, int], Point]:
    """Return the contact point of each (string, fret); shared between equal instruments, so never changed."""
    points = {}
    for fret in range(top_fret + 1):
        along = fret_distance(capo + fret, scale_mm)
        width = nut_mm + (saddle_mm - nut_mm) * along / scale_mm
        for string in range(1, strings + 1):
            points[string, fret] = (along, ((string - 1) / (strings - 1) - 0.5) * width)
    return points
