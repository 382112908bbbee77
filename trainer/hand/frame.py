"""The hand's frame: the position that a shape's fingers fit best, and what lies off it.

In the frame of position p, finger 1 lies at fret p, finger 2 at p + 1 and so on. Fingers stacked at one fret fit
wherever one of them would lie at its own fret, because stacking is neither an extension nor a contraction.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations, pairwise

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Placing, Shape
from trainer.hand.change import Reach
from trainer.hand.reach import Hand


def position(*shapes: Shape) -> int | None:
    """Return the fret where finger 1 would lie for all of `shapes` held without a shift; None without a finger.

    It is the fret from which the fewest frets of deviation remain over all fingers; where several do equally well,
    the one that finger 1 (else the lowest finger) itself takes in one of the shapes, else the lowest. Finger 1 may
    reach back from the frame but the frame never lies behind it: editions print position III over finger 1 at fret 3
    however low the others lie.
    """
    stacks = [stack for shape in shapes for stack in _stacks(shape)]
    if not stacks:
        return None
    leaders = {_own(placing) for shape in shapes for placing in list(shape.placings.values())[:1]}
    floor = min((shape.placings[1].fret for shape in shapes if 1 in shape.placings), default=1)

    def misfit(candidate: int) -> tuple[int, bool, int]:
        off = sum(min(abs(_own(placing) - candidate) for placing in stack) for stack in stacks)
        return off, candidate not in leaders, candidate

    return min({max(floor, _own(placing)) for stack in stacks for placing in stack}, key=misfit)


def _own(placing: Placing) -> int:
    """Return the position in which this finger would lie at its own fret."""
    return placing.fret - (placing.finger - 1)


def _stacks(shape: Shape) -> list[list[Placing]]:
    """Return the placed fingers, those at one fret together, lowest finger first."""
    stacks: dict[int, list[Placing]] = {}
    for placing in shape.placings.values():
        stacks.setdefault(placing.fret, []).append(placing)
    return list(stacks.values())


def reaches(shape: Shape, instrument: Instrument, hand: Hand, at: int | None) -> dict[int, Reach]:
    """Return the fingers of `shape` that reach out of the frame at position `at` beyond what is comfortable.

    A reach is an extension where two fingers lie further apart along the neck than the hand's comfortable reach;
    the one of the two that lies further off its own fret is the one that reaches. Of stacked fingers only the one
    nearest its own fret counts.
    """
    found: dict[int, Reach] = {}
    if at is None:
        return found
    frame = [min(stack, key=lambda placing: abs(_own(placing) - at)) for stack in _stacks(shape)]
    for lower, upper in combinations(sorted(frame, key=lambda placing: placing.finger), 2):
        apart = instrument.fret_mm(upper.fret) - instrument.fret_mm(lower.fret)
        if apart > hand.comfort(lower.finger, upper.finger):
            if at - _own(lower) > _own(upper) - at:
                found[lower.finger] = Reach.BACK
            else:
                found[upper.finger] = Reach.FORWARD
    return found


def contracted(shape: Shape) -> bool:
    """Tell whether two neighbouring placed fingers are closer than one finger to a fret; stacked ones are not."""
    placed = list(shape.placings.values())
    return any(0 < upper.fret - lower.fret < upper.finger - lower.finger for lower, upper in pairwise(placed))


def span(shape: Shape, instrument: Instrument) -> float | None:
    """Return the millimetres between the outermost fingertips; 0 with one finger, None where none is known."""
    if not shape.fingered:
        return None
    tips = [instrument.point(*placing.place) for placing in shape.placings.values()]
    return max((math.dist(a, b) for a in tips for b in tips), default=0.0)


def between(a: Placing, b: Placing, instrument: Instrument) -> float:
    """Return the shortest straight line in millimetres between two fingers, a barre being all along its strings."""
    return min(_lines(a, b, instrument))


def _lines(a: Placing, b: Placing, instrument: Instrument) -> Iterable[float]:
    return (instrument.distance((s, a.fret), (t, b.fret)) for s in a.strings for t in b.strings)
