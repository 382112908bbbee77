"""A way through a passage, as values: where each note is taken, what the hand holds, what each change costs and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.hand.search.costs import Body, Detail, Moment, finger_cost, grip_cost, open_cost, shift_cost, since
from trainer.hand.search.parts import Step, Values
from trainer.hand.search.passage import Passage, Slice
from trainer.hand.search.places import AIR, Ints
from trainer.hand.search.trellis import Trellis
from trainer.hand.search.weights import Weights


@dataclass(frozen=True, slots=True)
class Taken:
    """How one note is taken."""

    string: int
    fret: int
    finger: int
    """0 where it is open."""


@dataclass(frozen=True, slots=True)
class Lying:
    """Where one finger lies at one moment."""

    finger: int
    """1 to 4."""
    fret: int
    low_string: int
    high_string: int
    """The same as `low_string` for a fingertip."""
    sounding: bool
    """False where it rests: no string under it at its fret is struck or sounds on."""

    @property
    def barre(self) -> Barre | None:
        """Its extent, None for a fingertip."""
        if self.low_string == self.high_string:
            return None
        return Barre(self.finger, self.fret, self.low_string, self.high_string)


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that one change costs, or saves."""

    term: str
    """Name in the table of terms, or of a fitted table."""
    amount: float
    """In the term's unit."""
    cost: float
    """Weight times amount."""
    finger: int | None = None
    """The finger it is about; None: the hand or the shape."""
    start: tuple[int, int] | None = None
    """(string, fret) that finger comes from."""
    end: tuple[int, int] | None = None
    """(string, fret) that finger comes to."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What the hand does for one slice."""

    onset: Fraction
    hands: tuple[Lying, ...]
    """Every finger that lies somewhere once it is done."""
    position: int | None
    """Where the hand is; None before it has taken any."""
    reasons: tuple[Reason, ...]
    """What it costs, dearest first; nothing that costs nothing."""

    @property
    def cost(self) -> float:
        """What it costs in all."""
        return sum(reason.cost for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Fingering:
    """One way through a passage."""

    passage: Passage
    notes: tuple[Taken, ...]
    """One for each note of the passage."""
    moves: tuple[Moved, ...]
    """One for each slice."""
    cost: float
    """What it was sought by: the sum over all slices, or the dearest one."""

    @property
    def total(self) -> float:
        """The sum over all slices."""
        return sum(move.cost for move in self.moves)

    @property
    def worst(self) -> int:
        """The slice that costs most."""
        return max(range(len(self.moves)), key=lambda index: self.moves[index].cost)

    def shape(self, index: int) -> Shape:
        """Return what the hand holds at a slice: strings struck or sounding, and resting fingers silent."""
        piece, move = self.passage.slices[index], self.moves[index]
        count = self.passage.instrument.strings
        stops: list[Stop | None] = [None] * count
        for note in piece.struck:
            taken = self.notes[note]
            stops[count - taken.string] = Stop(taken.fret, taken.finger or None)
        for note in piece.held:
            taken = self.notes[note]
            if stops[count - taken.string] is None and self.still(index, note):
                stops[count - taken.string] = Stop(taken.fret, taken.finger or None)
        barres = []
        for lying in move.hands:
            own = range(lying.high_string, lying.low_string + 1)
            if any((stop := stops[count - string]) is not None and stop.fret < lying.fret for string in own):
                continue
            if lying.barre is not None:
                barres.append(lying.barre)
            elif stops[count - lying.low_string] is None:
                stops[count - lying.low_string] = Stop(lying.fret, lying.finger, silent=True)
        return Shape(tuple(stops), tuple(barres))

    def still(self, index: int, note: int) -> bool:
        """Tell whether a note struck before sounds on at a slice: its string and finger left alone."""
        taken, first = self.notes[note], self.passage.notes[note].onset
        for at, piece in enumerate(self.passage.slices[: index + 1]):
            if piece.onset <= first:
                continue
            if any(self.notes[other].string == taken.string for other in piece.struck):
                return False
            over = [lying for lying in self.moves[at].hands if lying.high_string <= taken.string <= lying.low_string]
            if taken.finger == 0 and over:
                return False
            if taken.finger and not any((o.finger, o.fret) == (taken.finger, taken.fret) for o in over):
                return False
        return True


@dataclass(frozen=True, slots=True)
class Way:
    """A way through the trellis: the grip of each slice, and the state before each slice and after the last."""

    grips: tuple[int, ...]
    rows: tuple[Ints, ...]
    """Rows of the state among each step's starts, one more than there are grips."""


def way(trellis: Trellis, path: Sequence[int]) -> Way:
    """Return the way that goes through row `path[i]` of layer i."""
    layers = trellis.layers
    return Way(
        tuple(int(layer.grip[row]) for layer, row in zip(layers, path, strict=True)),
        (np.zeros(6, dtype=np.int64), *(layer.rows[row] for layer, row in zip(layers, path, strict=True))),
    )


def fingering(
    passage: Passage,
    moments: Sequence[Moment],
    steps: Sequence[Step],
    values: Values,
    body: Body,
    weights: Weights,
    chosen: Way,
) -> Fingering:
    """Return the way `chosen` as values, every amount it costs worked out again and named."""
    notes: list[Taken | None] = [None] * len(passage.notes)
    moves = []
    states = [_state(row, steps, values, index) for index, row in enumerate(chosen.rows)]
    for index, (piece, moment, grip) in enumerate(zip(passage.slices, moments, chosen.grips, strict=True)):
        for column, note in enumerate(piece.struck):
            strings, fingers, frets = moment.grips.strings, moment.grips.fingers, moment.grips.frets
            notes[note] = Taken(int(strings[grip, column]), int(frets[grip, column]), int(fingers[grip, column]))
        reasons = change_reasons(states[index], moment, grip, body, weights)
        hands = _hands(states[index + 1], moment, passage, piece, notes, body)
        moves.append(Moved(piece.onset, hands, int(states[index + 1][4]) or None, reasons))
    taken = tuple(note for note in notes if note is not None)
    return Fingering(passage, taken, tuple(moves), sum(move.cost for move in moves))


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


def _hands(
    state: tuple[int, ...],
    moment: Moment,
    passage: Passage,
    piece: Slice,
    notes: Sequence[Taken | None],
    body: Body,
) -> tuple[Lying, ...]:
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
