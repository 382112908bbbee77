"""The player's hand: how far apart two fingertips can be, comfortably and at most.

Hands differ and no universal cut-off exists, so reach is a setting that the player calibrates. The starting values
are ours (common practice, no source): an adult's comfortable hand covers one finger to a fret in position I of a
650 mm guitar; a small hand 88 % and a child's 75 % of that.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

from trainer.errors import wrong
from trainer.fretboard.shape import FINGERS

PAIRS = tuple(combinations(FINGERS, 2))
"""The six pairs of fingers, in the order in which reach is given: 1-2, 1-3, 1-4, 2-3, 2-4, 3-4."""


@dataclass(frozen=True, slots=True)
class Hand:
    """Reach between each pair of fingers, in millimetres, in the order of `PAIRS`."""

    comfortable: tuple[float, ...] = (36.0, 68.0, 100.0, 34.0, 65.0, 33.0)
    """Along the neck; more than this is an extension."""
    largest: tuple[float, ...] = (80.0, 120.0, 150.0, 60.0, 105.0, 60.0)
    """Straight line between fingertips; more than this is beyond the hand."""

    def __post_init__(self) -> None:
        """Check that every pair has a comfortable reach and a largest one that is no smaller."""
        if not len(self.comfortable) == len(self.largest) == len(PAIRS):
            raise wrong("reach is not given for six pairs of fingers", hint="1-2, 1-3, 1-4, 2-3, 2-4, 3-4 in mm")
        for pair, near, far in zip(PAIRS, self.comfortable, self.largest, strict=True):
            if not 0 < near <= far <= 300:
                raise wrong(
                    f"reach between fingers {pair[0]} and {pair[1]}: comfortable {near}, largest {far}",
                    hint="in mm, the largest no smaller than the comfortable one, at most 300",
                )

    def scaled(self, factor: float) -> Hand:
        """Return a hand `factor` times as wide."""
        return Hand(tuple(mm * factor for mm in self.comfortable), tuple(mm * factor for mm in self.largest))

    def comfort(self, finger: int, other: int) -> float:
        """Return the comfortable reach along the neck between two fingers, in millimetres."""
        return self.comfortable[PAIRS.index((finger, other))]

    def limit(self, finger: int, other: int) -> float:
        """Return the largest reach between two fingertips, in millimetres."""
        return self.largest[PAIRS.index((finger, other))]


HANDS = MappingProxyType({"adult": Hand(), "small": Hand().scaled(0.88), "child": Hand().scaled(0.75)})
"""Starting values by name."""
