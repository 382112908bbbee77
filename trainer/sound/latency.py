"""How long after a frame is handed out it counts as heard: calibrated once, by playing along with the click.

What is measured is the whole way: buffer, converter, air, and the player, who plays a little ahead of a click without
knowing it (20 to 80 ms when tapping; Repp, Psychonomic Bulletin & Review 12, 2005, from memory). For grading that is
right: it is where this player, on this machine, hears the beat. It is no measure of the device alone.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from trainer.practice.statistics import NORMAL_MAD

SETTLING = 4
"""So many first strokes do not count: the player is finding the beat."""
FEWEST = 8
"""So many have to count."""
WIDEST_S = 0.04
"""With a wider spread than this the player was not with the click, and nothing follows from it."""


@dataclass(frozen=True, slots=True)
class Latency:
    """What came of playing along."""

    seconds: float
    """What to add to the moment a frame is handed out."""
    spread_s: float
    """How far single strokes lay off it: a standard deviation that slips do not stretch."""
    strokes: int
    """How many counted."""

    @property
    def certain(self) -> bool:
        """True where there are enough, and close enough together, to be used."""
        return self.strokes >= FEWEST and self.spread_s <= WIDEST_S


def calibrate(clicks: Sequence[float], strokes: Sequence[float]) -> Latency | None:
    """Return the latency from the seconds at which clicks were handed out and strokes (or presses) came; both in order.

    Each stroke belongs to the click nearest to it once the first strokes have shown by how much they lie off, so that a
    latency of more than half a beat is found too. None where nothing can be said.
    """
    if len(clicks) < 2 or len(strokes) <= SETTLING:
        return None
    counted = strokes[SETTLING:]
    period = (clicks[-1] - clicks[0]) / (len(clicks) - 1)
    # The phase of the strokes within a beat, from the click before: unaffected by beats that were left out.
    after = [stroke - clicks[max(bisect_left(clicks, stroke) - 1, 0)] for stroke in counted]
    rough = _circular_middle(after, period)
    off = [_nearest(clicks, stroke - rough) for stroke in counted]
    offsets = [stroke - click for stroke, click in zip(counted, off, strict=True)]
    middle = median(offsets)
    spread = NORMAL_MAD * median(abs(offset - middle) for offset in offsets)
    return Latency(middle, spread, len(offsets))


def _circular_middle(values: Sequence[float], period: float) -> float:
    """Return the value that the others lie closest around on a circle of `period`; its last quarter counts as early."""

    def away(one: float) -> float:
        return sum(abs((value - one + period / 2) % period - period / 2) for value in values)

    middle = min(values, key=away) % period
    return middle - period if middle > 0.75 * period else middle


def _nearest(ordered: Sequence[float], value: float) -> float:
    place = bisect_left(ordered, value)
    return min(ordered[max(place - 1, 0) : place + 1], key=lambda one: abs(one - value))
