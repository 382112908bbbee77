"""From a way through the trellis to a fingering: every amount it costs worked out again and named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from trainer.hand.search.costs import Body, Detail, Moment, finger_cost, grip_cost, open_cost, shift_cost, since
from trainer.hand.search.fingering import Fingering, Lying, Moved, Reason, Taken
from trainer.hand.search.parts import Step, Values
from trainer.hand.search.passage import Passage, Slice
from trainer.hand.search.places import AIR, Ints
from trainer.hand.search.trellis import Trellis
from trainer.hand.search.weights import Weights


@dataclass(frozen=True, slots=True)
class Way:
    """A way through the trellis: the grip of each slice, and the state before each slice and after the last."""

    grips: tuple[int, ...]
    """Row of the grip among those of its moment, for each slice."""
    rows: tuple[Ints, ...]
    """Rows of the state among each step's starts, one more than there are grips."""


def way(trellis: Trellis, path: Sequence[int]) -> Way:
    """Return the way that goes through row `path[i]` of layer i."""
    layers = trellis.layers
    return Way(
        tuple(int(layer.grip[row]) for layer, row in zip(layers, path, strict=True)),
        (np.zeros(6, dtype=np.int64), *(layer.rows[row] for layer, row in zip(layers, path, strict=True))),
    )


@dataclass(frozen=True, slots=True)
class Tracer:
    """Turns ways through one passage into fingerings."""

    passage: Passage
    """What is fingered."""
    moments: Sequence[Moment]
    """Its moments, one for each slice."""
    steps: Sequence[Step]
    """The parts of the change into each."""
    values: Values
    """What the parts can be after the last."""
    body: Body
    """Instrument and hand."""
    weights: Weights
    """What was sought by."""
    known: dict[tuple[int, int, tuple[int, ...]], tuple[Reason, ...]] = field(default_factory=dict)
    """Reasons by slice, grip and state: ways have most of their changes in common."""

    def fingering(self, chosen: Way, *, named: bool = True) -> Fingering:
        """Return the way `chosen` as values; where `named`, every amount it costs worked out again by its name."""
        notes: list[Taken | None] = [None] * len(self.passage.notes)
        moves = []
        states = [_state(row, self.steps, self.values, index) for index, row in enumerate(chosen.rows)]
        pairs = zip(self.passage.slices, self.moments, chosen.grips, strict=True)
        for index, (piece, moment, grip) in enumerate(pairs):
            for column, note in enumerate(piece.struck):
                strings, fingers, frets = moment.grips.strings, moment.grips.fingers, moment.grips.frets
                notes[note] = Taken(int(strings[grip, column]), int(frets[grip, column]), int(fingers[grip, column]))
            reasons = self._reasons(index, grip, states[index]) if named else ()
            hands = _hands(states[index + 1], piece, notes, self.body)
            moves.append(Moved(piece.onset, hands, int(states[index + 1][4]) or None, reasons))
        taken = tuple(note for note in notes if note is not None)
        return Fingering(self.passage, taken, tuple(moves), sum(move.cost for move in moves))

    def _reasons(self, index: int, grip: int, state: tuple[int, ...]) -> tuple[Reason, ...]:
        key = (index, grip, state)
        if key not in self.known:
            self.known[key] = change_reasons(state, self.moments[index], grip, self.body, self.weights)
        return self.known[key]


def _state(row: Ints, steps: Sequence[Step], values: Values, index: int) -> tuple[int, ...]:
    if index < len(steps):
        step = steps[index]
        parts = [part.start for part in (*step.fingers, step.position, step.opened)]
    else:
        parts = [*values.fingers, values.position, values.opened]
    return tuple(int(part[at]) for part, at in zip(parts, row, strict=True))


def only(moment: Moment, grip: int) -> Moment:
    """Return the moment with one of its grips."""
    return Moment(
        moment.grips.only(grip), moment.since, moment.held, moment.ring, moment.sounds, moment.extra[grip : grip + 1]
    )


def change_reasons(
    state: tuple[int, ...], moment: Moment, grip: int, body: Body, weights: Weights
) -> tuple[Reason, ...]:
    """Return what it costs a hand in `state` (four places, position, open strings) to take one grip, by reason."""
    alone = only(moment, grip)
    table = body.table
    reasons: list[Reason] = []
    tally = Detail()
    grip_cost(tally, alone, body)
    reasons += _named(tally, weights)
    time = []
    for finger in range(4):
        start = np.array([state[finger]])
        tally = Detail()
        finger_cost(tally, finger, start, alone, body)
        time.append(float(since(start, moment, table)[0]))
        new = int(alone.grips.place[0, finger])
        ends = (_spot(state[finger], body), _spot(new, body))
        reasons += _named(tally, weights, finger + 1, ends)
    tally = Detail()
    shift_cost(tally, np.array([state[4]]), np.array([min(time)]), alone, body)
    open_cost(tally, np.array([state[5]]), alone, body)
    reasons += _named(tally, weights)
    if alone.extra[0]:
        reasons.append(Reason("habit", 1.0, float(alone.extra[0])))
    return tuple(sorted(reasons, key=lambda reason: -abs(reason.cost)))


def _named(
    tally: Detail,
    weights: Weights,
    finger: int | None = None,
    ends: tuple[tuple[int, int] | None, tuple[int, int] | None] = (None, None),
) -> list[Reason]:
    """Return what a tally took, each term and each table once, leaving out what costs nothing."""
    amounts: dict[str, float] = {}
    costs: dict[str, float] = {}
    for name, amount in tally.terms:
        amounts[name] = amounts.get(name, 0.0) + float(amount.sum())
        costs[name] = amounts[name] * weights.terms[name]
    for name, index, counts in tally.tables:
        entries = weights.tables[name].ravel()[index] * counts
        amounts[f"table {name}"] = amounts.get(f"table {name}", 0.0) + float(counts.sum())
        costs[f"table {name}"] = costs.get(f"table {name}", 0.0) + float(entries.sum())
    return [Reason(name, amounts[name], cost, finger, *ends) for name, cost in costs.items() if cost]


def _spot(place: int, body: Body) -> tuple[int, int] | None:
    return None if place == AIR else (int(body.table.low[place]), int(body.table.fret[place]))


def _hands(state: tuple[int, ...], piece: Slice, notes: Sequence[Taken | None], body: Body) -> tuple[Lying, ...]:
    """Return where every finger lies that lies anywhere."""
    table = body.table
    sounding = {
        (taken.string, taken.fret, taken.finger)
        for note in (*piece.struck, *piece.held)
        if (taken := notes[note]) is not None
    }
    found = []
    for finger, place in enumerate(state[:4], start=1):
        if place == AIR:
            continue
        fret, low, high = int(table.fret[place]), int(table.low[place]), int(table.high[place])
        sounds = any((string, fret, finger) in sounding for string in range(high, low + 1))
        found.append(Lying(finger, fret, low, high, sounds))
    return tuple(found)
