"""How loud each string is heard, learned from six even plucks each, so that velocities can be compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from statistics import median
from types import MappingProxyType

from trainer.listen.setup.robust import scatter

ENOUGH = 6
"""Plucks for each string: the median of six stands though two went wrong."""
MOST_UNEVEN = 15.0
"""Plucks that scatter more than this (MIDI velocity) were not meant to be even. Common practice, no source: a player
who tries stays within half of it; a level from such plucks is off by about as much as they scatter."""
_FULL = 127


@dataclass(frozen=True, slots=True)
class Levelling:
    """How far the loudness of the strings is known. Every method returns a new value."""

    strings: tuple[int, ...]
    """The strings in the order in which they are asked for."""
    plucks: Mapping[int, tuple[int, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """Velocities of each string's plucks."""
    said: str = ""
    """What to tell the player."""
    warn: bool = False
    """True where something is wrong."""

    @property
    def asked(self) -> int | None:
        """The string to pluck now; None when all are known, or there is none."""
        return next((string for string in self.strings if self.count(string) < ENOUGH), None)

    @property
    def done(self) -> bool:
        """Tell whether there is nothing left to pluck."""
        return self.asked is None

    def count(self, string: int) -> int:
        """Return how often `string` was plucked."""
        return len(self.plucks.get(string, ()))

    def take(self, string: int | None, velocity: int) -> Levelling:
        """Take a pluck; on another string than was asked for it does not count."""
        asked = self.asked
        if asked is None:
            return self
        if string != asked:
            heard = "no string that is known" if string is None else f"string {string}"
            return replace(self, said=f"That was {heard}. Now string {asked}.", warn=True)
        known = MappingProxyType({**self.plucks, asked: (*self.plucks.get(asked, ()), velocity)})
        after = replace(self, plucks=known, said="", warn=False)
        return after._judged(asked) if after.count(asked) == ENOUGH else after

    def _judged(self, string: int) -> Levelling:
        """Ask for the six of a string once more where they were too uneven."""
        velocities = self.plucks[string]
        if scatter(velocities) > MOST_UNEVEN:
            left = MappingProxyType({other: kept for other, kept in self.plucks.items() if other != string})
            low, high = min(velocities), max(velocities)
            said = f"Too uneven to be worth anything: {low} to {high}. Six alike, string {string} once more."
            return replace(self, plucks=left, said=said, warn=True)
        if median(velocities) >= _FULL - 1:
            said = f"String {string} reads {_FULL}, as loud as can be: turn it down on the guitar and begin again."
            return replace(self, said=said, warn=True)
        return replace(self, said=f"String {string} reads {median(velocities):g}.")

    @property
    def levels(self) -> Mapping[int, float]:
        """What to add to each string's velocities; empty as long as not all are known, or where nothing can be told."""
        if not self.done or not self.plucks or self.flat:
            return {}
        middle = {string: median(velocities) for string, velocities in self.plucks.items()}
        aim = median(middle.values())
        return {string: aim - found for string, found in middle.items()}

    @property
    def flat(self) -> bool:
        """Tell whether the guitar sends one velocity whatever is played."""
        return len({velocity for velocities in self.plucks.values() for velocity in velocities}) == 1

    @property
    def words(self) -> str:
        """What came of it."""
        if not self.strings:
            return "The strings are not told apart, so they cannot be levelled."
        if self.done and self.flat:
            return "Every pluck reads the same: this guitar sends no loudness, and balance will not be told."
        levels = self.levels
        if not levels:
            return ""
        apart = max(levels.values()) - min(levels.values())
        return f"Levelled: strings were up to {apart:.0f} apart, and are read alike now."
