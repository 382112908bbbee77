"""What each finger does in a change, how far it goes, and when it may leave and must arrive."""

from __future__ import annotations

import math
from fractions import Fraction

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import FINGERS, Placing, Shape
from trainer.hand.change import Action, Move, Place, Reach
from trainer.hand.sound import sounding, unstruck


def finger_moves(
    before: Shape,
    after: Shape,
    instrument: Instrument,
    plucked: tuple[Plucked | None, Plucked | None],
    reach: dict[int, Reach],
) -> tuple[Move, ...]:
    """Return one move for each finger 1 to 4; `reach` says which fingers of `after` lie off the frame."""
    moves = []
    for finger in FINGERS:
        action = _action(finger, before, after, plucked)
        start, end = before.placings.get(finger), after.placings.get(finger)
        moves.append(
            Move(
                finger,
                action,
                None if start is None else start.place,
                None if end is None else end.place,
                _travel(start, end, instrument),
                _free_from(action, start, before, plucked[0]),
                _needed_by(action, start, end, after, plucked[1]),
                reach.get(finger),
            )
        )
    return tuple(moves)


def signed_distance(start: Place, end: Place, instrument: Instrument) -> float:
    """Return the straight line between two places in millimetres, negative where it leads towards the nut."""
    towards_nut = end[1] < start[1]
    return -instrument.distance(start, end) if towards_nut else instrument.distance(start, end)


def left_after_shift(move: Move, shift_mm: float, instrument: Instrument) -> float:
    """Return how far a finger itself still goes, in millimetres, once the hand's own shift is taken off."""
    if move.start is None or move.end is None:
        return 0.0
    (from_along, from_across), (to_along, to_across) = instrument.point(*move.start), instrument.point(*move.end)
    return math.hypot(to_along - from_along - shift_mm, to_across - from_across)


def _action(finger: int, before: Shape, after: Shape, plucked: tuple[Plucked | None, Plucked | None]) -> Action:
    """Return the first action that fits, in the order of `Action`."""
    start, end = before.placings.get(finger), after.placings.get(finger)
    if start is not None and end is not None:
        if _persists(start, end):
            return Action.KEPT
        if start.anchor == end.anchor:
            return Action.GUIDE
        return Action.SWAP if _takes_over(end, before, after, plucked) else Action.CROSS
    unknown = not (before.fingered and after.fingered)
    if unknown:
        return Action.UNKNOWN
    if end is not None:
        return Action.SWAP if _takes_over(end, before, after, plucked) else Action.PLACE
    return Action.FREE if start is None else Action.LIFT


def _persists(start: Placing, end: Placing) -> bool:
    return start.fret == end.fret and bool(set(start.strings) & set(end.strings))


def _takes_over(end: Placing, before: Shape, after: Shape, plucked: tuple[Plucked | None, Plucked | None]) -> bool:
    """Tell whether a note of another finger goes on sounding, unstruck, under this one."""
    string = end.anchor
    old = before[string]
    return (
        old is not None
        and old.fret == end.fret
        and old.finger not in {None, end.finger}
        and string in sounding(before, plucked[0])
        and unstruck(string, after, plucked[1])
    )


def _travel(start: Placing | None, end: Placing | None, instrument: Instrument) -> float | None:
    if start is None or end is None:
        return None
    return 0.0 if _persists(start, end) else signed_distance(start.place, end.place, instrument)


def _free_from(action: Action, start: Placing | None, before: Shape, plucked: Plucked | None) -> Fraction | None:
    """Return the beat from which a finger that leaves may do so; a finger under no note may from the start."""
    if plucked is None or start is None or action is Action.KEPT:
        return None
    ends = (plucked.free(string) for string in _held_by(start, before))
    return max((end for end in ends if end is not None), default=Fraction(1))


def _needed_by(
    action: Action, start: Placing | None, end: Placing | None, after: Shape, plucked: Plucked | None
) -> Fraction | None:
    """Return the beat by which a finger that arrives must be there; one that takes over is needed at once.

    Of a finger that stays down only the strings count that it newly comes to cover.
    """
    if plucked is None or end is None:
        return None
    if action is Action.SWAP:
        return Fraction(1)
    covered = start.strings if action is Action.KEPT and start is not None else ()
    beats = (plucked.first(string) for string in _held_by(end, after) if string not in covered)
    return min((beat for beat in beats if beat is not None), default=None)


def _held_by(placing: Placing, shape: Shape) -> list[int]:
    return [string for string in placing.strings if (stop := shape[string]) and stop.finger == placing.finger]
