"""Which frets the board shows: the hand's surroundings, moving only where it must."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.hand.change import Change

FEWEST = 4
"""The frets that a hand covers; fewer are never shown."""
FEW = 7
"""A window is not grown beyond this to use up room, nor kept for stability's sake alone."""
NEAR_NUT = 3
"""A window whose lowest fret in use is no higher begins at the nut, so that open strings start from it."""


@dataclass(frozen=True, slots=True)
class Window:
    """A run of frets, counted from the capo, both ends included."""

    first: int
    """Lowest fret shown; 1 shows the nut."""
    last: int
    """Highest fret shown."""

    @property
    def count(self) -> int:
        """How many frets it shows."""
        return self.last - self.first + 1

    @property
    def frets(self) -> range:
        """The frets it shows, lowest first."""
        return range(self.first, self.last + 1)

    def covers(self, other: Window) -> bool:
        """Tell whether every fret of `other` is shown."""
        return self.first <= other.first and other.last <= self.last

    def joined(self, other: Window) -> Window:
        """Return the smallest window that covers both."""
        return Window(min(self.first, other.first), max(self.last, other.last))


def needed(change: Change) -> Window:
    """Return the window that `change` needs: both shapes' frets and both positions."""
    positions = (fret for fret in change.positions if fret is not None and fret > 0)
    frets = (*change.before.frets, *change.after.frets, *positions)
    low, high = min(frets, default=1), max(frets, default=1)
    first = 1 if low <= NEAR_NUT else low
    return Window(first, max(high, first + FEWEST - 1))


def follow(previous: Window | None, change: Change) -> Window:
    """Return the window for `change`: the one shown before where it covers the change and is not needlessly wide."""
    own = needed(change)
    if previous is not None and previous.covers(own) and previous.count <= max(own.count, FEW):
        return previous
    return own
