"""One press or a held key: telling a player's presses from what a keyboard repeats and a pedal bounces.

A held key first repeats after 250 to 500 ms, then about every 30 ms. The first repeat therefore looks like a press of
its own until two more follow close upon it; then it is taken back. One press close upon another is a bounce.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum, auto

FOLLOWERS = 2
"""So many presses in a row, each close upon the one before, show that a key is held."""


class Verdict(Enum):
    """What to make of a press."""

    COUNTS = auto()
    """A press of the player's."""
    IGNORED = auto()
    """A repeat or a bounce."""
    TAKES_BACK = auto()
    """A repeat, and it shows that the press that counted last was one as well."""


@dataclass(frozen=True, slots=True)
class Presses:
    """What must be remembered of the presses so far."""

    last: float | None = None
    """When the last press came in, whatever was made of it; monotonic seconds."""
    followers: int = 0
    """How many came in close upon each other since the last press that counted."""

    def judge(self, at: float, window_s: float) -> tuple[Presses, Verdict]:
        """Return what to remember after a press at `at`, and what to make of it.

        A press less than `window_s` after the one before it, or stamped before it, does not count.
        """
        if self.last is None or at - self.last >= window_s:
            return Presses(at), Verdict.COUNTS
        followers = self.followers + 1
        verdict = Verdict.TAKES_BACK if followers == FOLLOWERS else Verdict.IGNORED
        return replace(self, last=max(at, self.last), followers=followers), verdict
