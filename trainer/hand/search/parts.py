"""The parts of every change of a passage, worked out once: small matrices that any search adds up.

Which places a finger, which positions the hand and which open strings can be reached does not depend on what the rest
of the hand does, so each is followed through the passage by itself; a state is a row number in each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.hand.search.costs import Body, Cost, Moment, finger_cost, grip_cost, open_cost, shift_cost, since
from trainer.hand.search.grips import STAY
from trainer.hand.search.places import AIR, Floats, Ints
from trainer.hand.search.weights import Weights


@dataclass(frozen=True, slots=True)
class Part:
    """One thing of the hand before a moment: its values, what each costs with each grip, and what it becomes."""

    start: Ints
    """Values it can have: places, positions or masks."""
    cost: Floats
    """(starts, grips); of the position with a further axis in front, the time the hand has had."""
    to: Ints
    """(starts, grips): row of the value it becomes, among the next moment's starts."""


@dataclass(frozen=True, slots=True)
class Step:
    """All parts of the change into one moment."""

    grip: Floats
    """Cost of each grip by itself."""
    fingers: tuple[Part, Part, Part, Part]
    """The places of each finger."""
    position: Part
    """The positions of the hand."""
    opened: Part
    """The masks of open strings that sound."""
    time: tuple[Ints, Ints, Ints, Ints]
    """For each finger and start, the time its note has been over, as a row of `times`."""
    times: Floats
    """Times that occur, ascending."""


@dataclass(frozen=True, slots=True)
class Values:
    """What the parts can be once the last moment is over."""

    fingers: tuple[Ints, ...]
    """Places of each finger."""
    position: Ints
    """Positions of the hand."""
    opened: Ints
    """Masks of open strings that sound."""


def steps(moments: Sequence[Moment], body: Body, weights: Weights) -> tuple[tuple[Step, ...], Values]:
    """Return the parts of every change, from a hand at rest, and the values after the last."""
    fingers: list[Ints] = [np.array([AIR])] * 4
    position, opened = np.array([STAY]), np.array([0])
    found = []
    for moment in moments:
        step, fingers, position, opened = _step(fingers, position, opened, moment, body, weights)
        found.append(step)
    return tuple(found), Values(tuple(fingers), position, opened)


def _step(
    fingers: list[Ints], position: Ints, opened: Ints, moment: Moment, body: Body, weights: Weights
) -> tuple[Step, list[Ints], Ints, Ints]:
    count = len(moment.grips)
    alone = Cost(weights)
    grip_cost(alone, moment, body)
    parts, ends, spans = [], [], []
    for finger, start in enumerate(fingers):
        tally = Cost(weights)
        values, to = np.unique(finger_cost(tally, finger, start, moment, body), return_inverse=True)
        parts.append(Part(start, _full(tally, len(start), count), to.reshape(len(start), count)))
        ends.append(values)
        spans.append(since(start, moment, body.table))
    times = np.unique(np.concatenate(spans))
    moved, shifted = [], position
    for time in times:
        tally = Cost(weights)
        shifted = shift_cost(tally, position, np.full(len(position), time), moment, body)
        moved.append(_full(tally, len(position), count))
    values, to = np.unique(shifted, return_inverse=True)
    shift = Part(position, np.stack(moved), to.reshape(len(position), count))
    tally = Cost(weights)
    masks, rung = np.unique(open_cost(tally, opened, moment, body), return_inverse=True)
    rings = Part(opened, _full(tally, len(opened), count), rung.reshape(len(opened), count))
    one, two, three, four = parts
    a, b, c, d = (np.searchsorted(times, span) for span in spans)
    step = Step(alone.total + moment.extra, (one, two, three, four), shift, rings, (a, b, c, d), times)
    return step, ends, values, masks


def _full(tally: Cost, rows: int, columns: int) -> Floats:
    return np.broadcast_to(tally.total, (rows, columns))
