"""What one seat played in a round: each change that was heard is held against the beat it was due on. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, count, pairwise
from typing import TYPE_CHECKING

from trainer.practice.record import Texture
from trainer.practice.rounds import ChangeHeard, SeatHeard

if TYPE_CHECKING:
    from trainer.practice.course import Pair
    from trainer.practice.measures import HeardChange
    from trainer.practice.room import Room
    from trainer.ui.drilling.listening import Listened

_ON_BEAT = 0.5
"""A change is on its beat as long as no other beat is nearer. Ours, no source: a class plays on the count, so who
comes a beat later did not have it at this tempo."""


@dataclass(frozen=True, slots=True)
class Due:
    """A change that a round asks for. Seconds are monotonic."""

    number: int | None
    """Which of the round's changes, from 0; None for a way back between two of them."""
    pair: Pair
    """Indices of the shape left and of the shape reached, among those that are listened for."""
    at: float
    """When the shape reached is due."""
    ends: float
    """From when on a landing belongs to it no longer: the shape was held for its time, or the change comes round."""
    plays: float = 0.0
    """Seconds from the first to the last stroke of a figure, as written; 0 of what is struck at once."""


def dues(room: Room, heard: Listened, moments: Callable[[Fraction], float]) -> tuple[Due, ...]:
    """Return the changes that the round asks for which `room` begins; `moments` tells when a beat falls.

    A round that goes on after it was frozen asks for what is still to come.
    """
    legs, steps, bar = room.legs[room.begun :], room.drill.steps, Fraction(room.drill.meter[0])
    # The ear takes the shapes to come round, so what is later than half of that would be told as early.
    lap = sum(heard.drill.lengths, Fraction(0))
    if not legs:
        return ()
    turns = [bar + beats for beats in accumulate(room.course.lasting(legs))]
    number = count(sum(leg.counted for leg in room.legs[: room.begun]))
    found = []
    for leg, (begins, over) in zip(legs, pairwise(turns), strict=True):
        step = steps[leg.pair[1]]
        last = step.plucked.strokes[-1].beat - 1 if step.texture is Texture.FIGURE else Fraction(0)
        at = moments(begins)
        ends = moments(min(over, begins + lap / 2))
        before, after = map(heard.steps.index, leg.pair)
        which = next(number) if leg.counted else None
        found.append(Due(which, (before, after), at, ends, moments(begins + last) - at))
    return tuple(found)


class Tally:
    """The changes of one seat in one round, one for each that was due; it grows no further than that."""

    def __init__(self, asked: Iterable[Due], beat_s: float) -> None:
        """Wait for what is `asked`, at `beat_s` seconds a beat."""
        self._dues = tuple(asked)
        self._near_s = _ON_BEAT * beat_s
        self._found: dict[int, HeardChange] = {}

    def take(self, change: HeardChange) -> None:
        """Take a change that was heard, or what else is known by now of one that was taken."""
        place = self._place(change)
        if place is None:
            return
        known = self._found.get(place)
        if known is None or known.index == change.index or _better(change, known):
            self._found[place] = change

    def told(self, seat: str) -> SeatHeard:
        """Return what was heard of `seat`."""
        return SeatHeard(seat, tuple(self._heard(place, due) for place, due in enumerate(self._dues)))

    def _heard(self, place: int, due: Due) -> ChangeHeard:
        change = self._found.get(place)
        if change is None:
            return ChangeHeard(due.number, landed=False)
        late = _late_ms(change)
        landed = late is not None and abs(late) <= 1000 * self._near_s
        return ChangeHeard(due.number, landed, late, change.kept_down)

    def _place(self, change: HeardChange) -> int | None:
        """Return which it is of the changes that are due, the nearest or the next one; None where it is none."""
        places = [place for place, due in enumerate(self._dues) if due.pair == (change.before, change.after)]
        if not places:
            return None
        reached = self._reached(places[0], change)
        if reached is None:
            # It did not land: it was on the way to what came next once the old shape had been struck.
            return next((place for place in places if self._dues[place].ends > change.struck_s), None)
        fit = (place for place in places if self._dues[place].at - self._near_s <= reached < self._dues[place].ends)
        return min(fit, key=lambda place: abs(self._dues[place].at - reached), default=None)

    def _reached(self, place: int, change: HeardChange) -> float | None:
        """Return when the shape reached began to sound; None where it did not land."""
        if change.landed_s is None:
            return None
        if change.texture is Texture.FIGURE:
            return change.landed_s - self._dues[place].plays
        return change.landed_s - (change.spread_ms or 0.0) / 1000


def _better(new: HeardChange, old: HeardChange) -> bool:
    """Tell whether of two goes at one change the new one counts: the one that was nearer to its beat."""
    after, before = _late_ms(new), _late_ms(old)
    return after is not None and (before is None or abs(after) < abs(before))


def _late_ms(change: HeardChange) -> float | None:
    """Return how late a change was; None where it did not land."""
    if not change.landed:
        return None
    return change.delay_ms if change.lateness_ms is None else change.lateness_ms
