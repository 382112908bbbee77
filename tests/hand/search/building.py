"""Passages written short, and a search in the open: the same costs, every way tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

import numpy as np

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import midi
from trainer.hand.reach import Hand
from trainer.hand.search.costs import Body, Cost, Moment, finger_cost, open_cost, shift_cost, since
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import Step, Values, steps
from trainer.hand.search.passage import Note, Passage
from trainer.hand.search.solve import Found, work_out
from trainer.hand.search.tracing import change_reasons, only
from trainer.hand.search.weights import Weights, plain


def notes(text: str, duration: Fraction = Fraction(1)) -> list[Note]:
    """Return notes of one duration after another: `A4/5@1.2` is A4 by... string 1, finger 2; `C3+E4` strikes both.

    A note is `NAME`, then `@STRING` and `.FINGER` where they are set; `-` is a rest.
    """
    found = []
    for number, word in enumerate(text.split()):
        for part in word.split("+"):
            if part == "-":
                continue
            head, _, finger = part.partition(".")
            name, _, string = head.partition("@")
            found.append(
                Note(
                    number * duration,
                    duration,
                    midi(name),
                    string=int(string) if string else None,
                    finger=int(finger) if finger else None,
                )
            )
    return found


def passage(text: str, duration: Fraction = Fraction(1), instrument: Instrument | None = None) -> Passage:
    """Return the passage that `notes` reads."""
    return Passage.of(notes(text, duration), instrument)


def found(passage: Passage, **more: object) -> Found:
    """Return the search's result, which must exist."""
    result = work_out(passage, **more)  # type: ignore[arg-type]  # the test's own keywords, passed on
    assert isinstance(result, Found), result
    return result


def told(result: Found) -> str:
    """Return string/fret/finger of each note: `2/1/1 1/0/0`."""
    return " ".join(f"{taken.string}/{taken.fret}/{taken.finger}" for taken in result.best.notes)


def fingers(result: Found) -> str:
    """Return the finger of each note: `1 0 3`."""
    return " ".join(str(taken.finger) for taken in result.best.notes)


@dataclass(frozen=True, slots=True)
class Open:
    """A passage laid open: its moments and parts."""

    moments: Sequence[Moment]
    steps: tuple[Step, ...]
    values: Values
    body: Body
    weights: Weights


def laid_open(passage: Passage, weights: Weights | None = None, hand: Hand | None = None) -> Open:
    """Return the moments and parts of a passage."""
    hand, weights = hand or Hand(), weights or plain()
    each = moments(passage, hand)
    assert not isinstance(each, Stuck)
    body = Body.of(passage.instrument, hand)
    parts, values = steps(each, body, weights)
    return Open(each, parts, values, body, weights)


State = tuple[int, ...]
"""Four places, position, open strings: the values themselves, not their rows."""
START: State = (0, 0, 0, 0, 0, 0)


def onward(state: State, at: int, grip: int, laid: Open) -> tuple[State, float]:
    """Return the state that a grip leads to and what the change costs, worked out by itself and named term by term."""
    alone = only(laid.moments[at], grip)
    tally = Cost(laid.weights)
    ends = [int(finger_cost(tally, f, np.array([state[f]]), alone, laid.body)[0, 0]) for f in range(4)]
    time = min(float(since(np.array([state[f]]), alone, laid.body.table)[0]) for f in range(4))
    position = int(shift_cost(tally, np.array([state[4]]), np.array([time]), alone, laid.body)[0, 0])
    opened = int(open_cost(tally, np.array([state[5]]), alone, laid.body)[0, 0])
    reasons = change_reasons(state, laid.moments[at], grip, laid.body, laid.weights)
    return (*ends, position, opened), sum(reason.cost for reason in reasons)


def every_way(laid: Open) -> list[tuple[float, float]]:
    """Return sum and dearest change of every way through a passage, each followed by itself."""
    results = []
    known: dict[tuple[State, int, int], tuple[State, float]] = {}
    for grips in product(*(range(len(moment.grips)) for moment in laid.moments)):
        state, costs = START, []
        for at, grip in enumerate(grips):
            key = (state, at, grip)
            if key not in known:
                known[key] = onward(state, at, grip, laid)
            state, cost = known[key]
            costs.append(cost)
        results.append((sum(costs), max(costs)))
    return results
