"""Likelihood of ways through a passage, a way being the likelier the less it costs: exp(-cost), within a beam.

Forward and backward sums give the chance of every change, hence of every amount that costs, of every note's string and
finger, and the playable way that agrees most with those.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trainer.hand.search.costs import Body, Detail, Moment, finger_cost, grip_cost, open_cost, shift_cost
from trainer.hand.search.parts import Step
from trainer.hand.search.places import Floats
from trainer.hand.search.trellis import Trellis, least_to_go, search
from trainer.hand.search.weights import TABLES, TERMS

OUT = 1e6
"""Cost of what is ruled out."""


@dataclass(frozen=True, slots=True)
class Chances:
    """Every change of a passage with its chance."""

    trellis: Trellis
    ways: tuple[Floats, ...]
    """For each layer, the chance of each of its ways."""


def ruled(steps: Sequence[Step], allowed: Sequence[np.ndarray]) -> list[Step]:
    """Return the steps with only the allowed grips of each, a flag a grip."""
    return [replace(step, grip=np.where(flags, step.grip, OUT)) for step, flags in zip(steps, allowed, strict=True)]


def chances(steps: Sequence[Step], width: int, many: int | None = None) -> Chances | None:
    """Return the chance of each change, None where no way is left; `width` and `many` as in the search."""
    trellis = search(steps, width, to_go=least_to_go(steps), ceiling=OUT / 2, keep=True, many=many)
    if not trellis.layers:
        return None
    forward, ahead = np.zeros(1), []
    for layer in trellis.layers:
        assert layer.ways is not None
        ways = layer.ways
        into = np.where(ways.end >= 0, forward[ways.start] - ways.cost, -np.inf)
        ahead.append(into)
        forward = _sum(into, ways.end, len(layer.cost))
    back = np.zeros(len(trellis.layers[-1].cost))
    whole = _sum(forward, np.zeros(len(forward), dtype=np.int64), 1)[0]
    found = []
    for layer, into in zip(reversed(trellis.layers), reversed(ahead), strict=True):
        assert layer.ways is not None
        ways = layer.ways
        through = np.where(ways.end >= 0, into + back[ways.end] - whole, -np.inf)
        found.append(np.exp(through))
        onward = np.where(ways.end >= 0, back[ways.end] - ways.cost, -np.inf)
        back = _sum(onward, ways.start, int(ways.start.max()) + 1 if len(found) < len(trellis.layers) else 1)
        back = np.concatenate((back, np.full(_room(trellis, len(found)) - len(back), -np.inf)))
    return Chances(trellis, tuple(reversed(found)))


def _room(trellis: Trellis, done: int) -> int:
    """Return how many states the layer before the last `done` layers has."""
    at = len(trellis.layers) - done - 1
    return len(trellis.layers[at].cost) if at >= 0 else 1


def _sum(values: Floats, group: np.ndarray, count: int) -> Floats:
    """Return log of the sum of exp of `values` by group; group -1 is left out."""
    values, group = values[group >= 0], group[group >= 0]
    top = np.full(count, -np.inf)
    np.maximum.at(top, group, values)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.log(np.bincount(group, np.exp(values - safe[group]), count)) + safe


class Amounts:
    """Expected amounts of every term and table entry, plus and minus."""

    def __init__(self) -> None:
        self.terms = dict.fromkeys(TERMS, 0.0)
        self.tables = {name: np.zeros(shape) for name, shape in TABLES.items()}

    def add(self, moments: Sequence[Moment], steps: Sequence[Step], body: Body, one: Chances, less: Chances) -> None:
        """Add the amounts expected under `one` and take away those expected under `less`."""
        rows = np.zeros((1, 6), dtype=np.int64)
        before = (rows, rows)
        for at, (moment, step) in enumerate(zip(moments, steps, strict=True)):
            flows = [self._flow(found, at, states, step) for found, states in zip((one, less), before, strict=True)]
            self._take(moment, step, body, [a - b for a, b in zip(*flows, strict=True)])
            before = (one.trellis.layers[at].rows, less.trellis.layers[at].rows)

    @staticmethod
    def _flow(found: Chances, at: int, states: np.ndarray, step: Step) -> list[Floats]:
        """Return the chance of each start and grip of each part: fingers, open strings, then position by time."""
        ways, chance = found.trellis.layers[at].ways, found.ways[at]
        assert ways is not None
        count = len(step.grip)
        flows: list[Floats] = []
        for column, part in zip((0, 1, 2, 3, 5), (*step.fingers, step.opened), strict=True):
            cell = states[ways.start, column] * count + ways.grip
            flows.append(np.bincount(cell, chance, len(part.start) * count).astype(np.float64).reshape(-1, count))
        time = np.min([step.time[finger][states[ways.start, finger]] for finger in range(4)], axis=0)
        cell = (time * len(step.position.start) + states[ways.start, 4]) * count + ways.grip
        size = len(step.times) * len(step.position.start) * count
        flows.append(np.bincount(cell, chance, size).astype(np.float64).reshape(len(step.times), -1, count))
        return flows

    def _take(self, moment: Moment, step: Step, body: Body, flows: list[Floats]) -> None:
        tally = Detail()
        grip_cost(tally, moment, body)
        self._weigh(tally, flows[0].sum(axis=0))
        for finger, part in enumerate(step.fingers):
            tally = Detail()
            finger_cost(tally, finger, part.start, moment, body)
            self._weigh(tally, flows[finger])
        tally = Detail()
        open_cost(tally, step.opened.start, moment, body)
        self._weigh(tally, flows[4])
        for time, flow in zip(step.times, flows[5], strict=True):
            tally = Detail()
            shift_cost(tally, step.position.start, np.full(len(step.position.start), time), moment, body)
            self._weigh(tally, flow)

    def _weigh(self, tally: Detail, flow: Floats) -> None:
        for name, amount in tally.terms:
            self.terms[name] += float((amount * flow).sum())
        for name, index, counts in tally.tables:
            weight = np.broadcast_to(counts * flow, flow.shape)
            index = np.broadcast_to(index, flow.shape)
            table = self.tables[name]
            table += np.bincount(index.ravel(), weight.ravel(), table.size).reshape(table.shape)


def taken(found: Chances, moments: Sequence[Moment]) -> list[list[dict[tuple[int, int], float]]]:
    """Return for each slice and each note struck the chance of each (string, finger)."""
    result = []
    for layer, chance, moment in zip(found.trellis.layers, found.ways, moments, strict=True):
        assert layer.ways is not None
        by_grip = np.bincount(layer.ways.grip, chance, len(moment.grips))
        notes: list[dict[tuple[int, int], float]] = [{} for _ in range(moment.grips.fingers.shape[1])]
        for grip in np.flatnonzero(by_grip > 1e-9):
            for note, at in enumerate(notes):
                key = (int(moment.grips.strings[grip, note]), int(moment.grips.fingers[grip, note]))
                at[key] = at.get(key, 0.0) + float(by_grip[grip])
        result.append(notes)
    return result


def likeliest(found: Chances, moments: Sequence[Moment]) -> list[int]:
    """Return the grips of the one playable way whose notes are together likeliest, each by itself."""
    score = np.zeros(1)
    backs = []
    for layer, notes, moment in zip(found.trellis.layers, taken(found, moments), moments, strict=True):
        assert layer.ways is not None
        grips = moment.grips
        value = np.array(
            [
                sum(
                    at.get((int(s), int(f)), 0.0)
                    for at, s, f in zip(notes, grips.strings[g], grips.fingers[g], strict=True)
                )
                for g in range(len(grips))
            ]
        )
        ways = layer.ways
        into = np.where(ways.end >= 0, score[ways.start] + value[ways.grip], -np.inf)
        best = np.full(len(layer.cost), -np.inf)
        np.maximum.at(best, ways.end[ways.end >= 0], into[ways.end >= 0])
        hit = np.flatnonzero((ways.end >= 0) & (into == best[ways.end]))
        pick = np.zeros(len(best), dtype=np.int64)
        pick[ways.end[hit]] = hit
        backs.append((ways.start[pick], ways.grip[pick]))
        score = best
    row, chosen = int(np.argmax(score)), []
    for start, grip in reversed(backs):
        chosen.append(int(grip[row]))
        row = int(start[row])
    return chosen[::-1]
