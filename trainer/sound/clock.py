"""One clock for click, screen and grading: which moment a frame of the stream belongs to.

The sound card has its own clock, and the program sees it only when it is asked for frames, sooner or later than it
should be. A line through the newest of those moments, fitted so that the late ones do not bend it, says both when a
frame goes out and how fast the card really runs. Slope and place are medians (Theil 1950, in the form that pairs each
point with the one half the window on), so that up to a quarter of the moments may be far off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TypeAlias

Point: TypeAlias = tuple[int, float]
"""(frames handed out so far, monotonic seconds at which they were asked for)."""

WINDOW = 120
"""So many newest points: with 10 to 25 ms between two of them, 1 to 3 seconds."""
FEWEST = 8
"""Before there are so many the card is taken at its word."""
WORST = 0.002
"""A card that seems to run further off than this is not believed: 100 parts in a million are usual, 2,000 are not."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Frames and moments of one stream, as far as is known now."""

    frame: float
    """A frame …"""
    at: float
    """… and the monotonic second at which it is handed out."""
    rate: float
    """Frames a second on the monotonic clock."""

    def time(self, frame: float) -> float:
        """Return the monotonic second at which a frame is handed out; the output's latency comes on top."""
        return self.at + (frame - self.frame) / self.rate

    def frame_at(self, seconds: float) -> float:
        """Return the frame that is handed out at a monotonic second."""
        return self.frame + (seconds - self.at) * self.rate


def fit(points: Sequence[Point], nominal: float) -> Clock:
    """Return the clock that the newest of `points` tell, which stand in order; `nominal` is frames a second.

    Raises ValueError where there is no point.
    """
    newest = points[-WINDOW:]
    if not newest:
        raise ValueError("no point to fit a clock to")
    rate = _rate(newest, nominal)
    # Times are taken from the last point, so that no digit is lost to a machine that has been up for months.
    frame, at = newest[-1]
    late = median((seconds - at) - (frames - frame) / rate for frames, seconds in newest)
    return Clock(float(frame), at + late, rate)


def _rate(points: Sequence[Point], nominal: float) -> float:
    half = len(points) // 2
    pairs = zip(points[:half], points[half:], strict=False)
    slopes = [(later[0] - frame) / (later[1] - at) for (frame, at), later in pairs if later[1] > at]
    if len(points) < FEWEST or not slopes:
        return nominal
    rate = median(slopes)
    return rate if abs(rate / nominal - 1) <= WORST else nominal
