"""How long has been played in a sitting, whatever was played, and the breaks that come due."""

from __future__ import annotations

from dataclasses import dataclass, replace

LONGEST_GAP_S = 15.0
"""Nobody plays on through a longer silence: as long as a change may take before it counts as left standing."""
_BREAKS = (
    (25, "25 minutes of playing: put the guitar down for five."),
    (50, "50 minutes of playing: take at least ten minutes' break."),
)


@dataclass(frozen=True, slots=True)
class Playing:
    """Measured playing: the time between what the hands do, pauses left out."""

    seconds: float = 0.0
    """So long was played."""
    last: float | None = None
    """When the hands did something last, monotonic seconds; None where they have not yet."""
    reminded: float = 0.0
    """So long had been played when a break was last said to be due."""

    def at(self, moment: float) -> Playing:
        """Return it with something played at `moment`: a press, a beat, a note."""
        gap = 0.0 if self.last is None else moment - self.last
        return replace(self, seconds=self.seconds + (gap if 0 < gap <= LONGEST_GAP_S else 0.0), last=moment)

    @property
    def due(self) -> str:
        """The reminder of a break that has come due and was not yet given; empty where none has."""
        return breaks(self.reminded, self.seconds) or ""

    def told(self) -> Playing:
        """Return it with the reminder given."""
        return replace(self, reminded=self.seconds)


def breaks(before_s: float, now_s: float) -> str | None:
    """Return the reminder of a break that came due between two amounts of measured playing, in seconds; else None."""
    return next((words for minutes, words in reversed(_BREAKS) if before_s < minutes * 60 <= now_s), None)
