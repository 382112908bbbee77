"""The exact search: a layered shortest path over every state that a hand can be in.

A layer holds the states that can be reached by its moment; each goes on with every grip of the next. Where a layer
would hold more states than the width allows, the dearest are cut off, and the result is called exact only where it
can be shown that none of them could have led to a better way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.hand.search.parts import Step
from trainer.hand.search.places import Floats, Ints


@dataclass(frozen=True, slots=True)
class Ways:
    """Every way on from one layer that was not ruled out; arrays with one entry a way."""

    start: Ints
    """Row of the state it leaves."""
    grip: Ints
    """Grip it takes."""
    end: Ints
    """Row of the state it leads to."""
    cost: Floats
    """What this change costs."""


@dataclass(frozen=True, slots=True)
class Layer:
    """The states of one moment, each with the best way to it."""

    rows: Ints
    """(states, 6): row of each finger's place, of the position and of the open strings among the next step's starts."""
    cost: Floats
    """Cost of the best way to each."""
    parent: Ints
    """Row of the state before."""
    grip: Ints
    """Grip by which it was reached."""
    ways: Ways | None
    """Every way from the layer before; None where not asked to be kept."""


@dataclass(frozen=True, slots=True)
class Trellis:
    """All layers of a passage."""

    layers: tuple[Layer, ...]
    """One for each moment; empty where no way was found within the bounds."""
    exact: bool
    """True where no state was cut off."""

    @property
    def cost(self) -> float:
        """Cost of the best way."""
        return float(self.layers[-1].cost.min())

    def best(self) -> list[int]:
        """Return the row of the state in each layer along the best way."""
        return self.back(int(np.argmin(self.layers[-1].cost)), len(self.layers) - 1)

    def back(self, row: int, at: int) -> list[int]:
        """Return the row in each layer up to layer `at` along the best way to its state `row`."""
        rows = [row]
        for layer in reversed(self.layers[1 : at + 1]):
            rows.append(int(layer.parent[rows[-1]]))
        return rows[::-1]


def change_costs(rows: Ints, step: Step) -> Floats:
    """Return what each state pays for each grip: (states, grips)."""
    cost = step.grip + step.opened.cost[rows[:, 5]]
    time = step.time[0][rows[:, 0]]
    for finger in range(4):
        cost += step.fingers[finger].cost[rows[:, finger]]
        time = np.minimum(time, step.time[finger][rows[:, finger]])
    cost += step.position.cost[time, rows[:, 4]]
    return np.asarray(cost, dtype=np.float64)


def ends(rows: Ints, grip: Ints, step: Step) -> Ints:
    """Return the state that each of `rows` becomes with the grip beside it."""
    parts = (*step.fingers, step.position, step.opened)
    return np.column_stack([part.to[rows[:, column], grip] for column, part in enumerate(parts)])


AT_REST = np.zeros((1, 6), dtype=np.int64)
"""The one state before the first note: no finger down, no position taken."""


ROOM = 3_000_000
"""Changes of one layer that are looked at together in a proof; more would take too much time and memory."""
MANY = 8
"""Ways followed for each state that a layer may hold; the rest are too dear for theirs to be among them."""


def search(
    steps: Sequence[Step],
    width: int | None = None,
    *,
    worst: bool = False,
    ceiling: float = np.inf,
    to_go: Sequence[Floats] | None = None,
    bound: float = np.inf,
    keep: bool = False,
    many: int | None = MANY,
) -> Trellis:
    """Return the trellis of the best ways through `steps`.

    `width` is the most states a layer may hold; None: all. With `worst` a way costs what its dearest change costs, else
    the sum. No change dearer than `ceiling` is made. `to_go` says for each grip of each step what the rest of the
    passage costs at least: it guides what is cut off, and ways that cannot stay within `bound` are left out, which
    costs no exactness as long as one way does; with a `bound`, no layers are returned where `width` or `ROOM`
    does not suffice. `keep` keeps every way that is followed: `many` for each state that a layer may hold; None: all.
    """
    rows, cost = AT_REST, np.zeros(1)
    layers: list[Layer] = []
    exact = True
    for index, step in enumerate(steps):
        if bound < np.inf and len(rows) * len(step.grip) > ROOM:
            return Trellis((), False)
        each = change_costs(rows, step)
        total = np.maximum(cost[:, None], each) if worst else cost[:, None] + each
        open_ = each <= ceiling
        if to_go is not None:
            open_ &= (np.maximum(total, to_go[index]) if worst else total + to_go[index]) <= bound
        flat = np.flatnonzero(open_)
        if not len(flat):
            return Trellis((), exact)
        if width is not None and many is not None and len(flat) > many * width:
            exact = False
            whole = total if to_go is None else total + to_go[index]
            flat = np.sort(flat[np.argpartition(whole.ravel()[flat], many * width)[: many * width]])
        start, grip = np.divmod(flat, each.shape[1])
        spent = total.ravel()[flat]
        led = ends(rows[start], grip, step)
        first, end = _same(led, spent)
        if width is not None and len(first) > width:
            if bound < np.inf:
                return Trellis((), False)
            exact = False
            whole = spent[first] if to_go is None else spent[first] + to_go[index][grip[first]]
            chosen = np.sort(np.argpartition(whole, width)[:width])
            renumbered = np.full(len(first), -1)
            renumbered[chosen] = np.arange(width)
            first, end = first[chosen], renumbered[end]
        ways = Ways(start, grip, end, each.ravel()[flat]) if keep else None
        rows, cost = led[first], spent[first]
        layers.append(Layer(rows, cost, start[first], grip[first], ways))
    return Trellis(tuple(layers), exact)


def _same(led: Ints, spent: Floats) -> tuple[Ints, Ints]:
    """Return the cheapest way to each state, the first among equals, and for each way the row of its state."""
    key = np.zeros(len(led), dtype=np.int64)
    for column in range(led.shape[1]):
        key = key * (int(led[:, column].max()) + 1) + led[:, column]
    order = np.lexsort((spent, key))
    fresh = np.ones(len(key), dtype=np.bool_)
    fresh[1:] = key[order][1:] != key[order][:-1]
    end = np.empty(len(key), dtype=np.int64)
    end[order] = np.cumsum(fresh) - 1
    return order[fresh], end


def least_to_go(steps: Sequence[Step], *, worst: bool = False) -> list[Floats]:
    """Return for each grip of each step what the rest of the passage costs at least (0 after the last).

    A finger that the grip uses lies where the grip puts it, as far as is known; every other part of the hand may be
    whatever suits the next grip best.
    """
    found = [np.zeros(len(steps[-1].grip))]
    for before, step in zip(reversed(steps[:-1]), reversed(steps[1:]), strict=True):
        least = step.grip + step.opened.cost.min(axis=0)
        parts = [_least(part.to, ahead.cost) for part, ahead in zip(before.fingers, step.fingers, strict=True)]
        parts.append(_least(before.position.to, step.position.cost.min(axis=0)))
        rest = least + sum(parts)
        onward = np.maximum(rest, found[-1]) if worst else rest + found[-1]
        found.append(onward.min(axis=1))
    return found[::-1]


def _least(to: Ints, cost: Floats) -> Floats:
    """Return the least cost of each next grip over the values that each grip can leave a part in: (grips, grips)."""
    room = np.zeros((to.shape[1], len(cost)), dtype=np.bool_)
    room[np.arange(to.shape[1]), to] = True
    known: dict[bytes, Floats] = {}
    for values in room:
        key = values.tobytes()
        if key not in known:
            known[key] = cost[values].min(axis=0)
    return np.stack([known[values.tobytes()] for values in room])
