"""Change analysis: from two shapes to everything that the change between them is made of."""

from __future__ import annotations

from fractions import Fraction

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import Shape
from trainer.hand.barres import barre_moves
from trainer.hand.change import Action, BarreAction, BarreMove, Change, Move, Shift
from trainer.hand.frame import position, reaches, span
from trainer.hand.hold import checked
from trainer.hand.moves import finger_moves, left_after_shift
from trainer.hand.reach import Hand
from trainer.hand.sound import buys_time, fate, sounding, squeaks

_LATEST = Fraction(10**6)
"""Stands in for 'no beat known' when fingers are ordered by the beat they are needed at."""


def analyse(
    before: Shape,
    after: Shape,
    instrument: Instrument,
    hand: Hand,
    plucked: tuple[Plucked | None, Plucked | None] = (None, None),
) -> Change:
    """Return what the change from `before` to `after` is made of.

    `plucked` says when the strings of each shape are struck; without it every sounding string is struck and beats
    stay unknown. Raises ChangeoverError where a shape does not fit the instrument.
    """
    checked(before, instrument)
    checked(after, instrument)
    positions = _positions(before, after)
    shift = _shift(positions, instrument)
    barres = barre_moves(before, after)
    moves = finger_moves(before, after, instrument, plucked, reaches(after, instrument, hand, positions[1]))
    fates = {string: fate(string, before, after, plucked[1]) for string in sounding(before, plucked[0])}
    rings = tuple(string for string, why in fates.items() if why is None)
    return Change(
        before=before,
        after=after,
        moves=moves,
        barres=barres,
        positions=positions,
        shift=shift,
        spans=(span(before, instrument), span(after, instrument)),
        rings=rings,
        stops=tuple((string, why) for string, why in fates.items() if why is not None),
        squeaks=squeaks(moves, barres, instrument),
        buys_time=buys_time(before, rings, plucked[0]) if shift is not None and shift.frets else (),
        watch=_watch(moves, barres, shift, instrument),
    )


def _positions(before: Shape, after: Shape) -> tuple[int | None, int | None]:
    """Return both positions; the hand does not shift while a finger that is no barre stays down."""
    for finger, start in before.placings.items():
        if not start.is_barre and start == after.placings.get(finger):
            together = position(before, after)
            return together, together
    return position(before), position(after)


def _shift(positions: tuple[int | None, int | None], instrument: Instrument) -> Shift | None:
    old, new = positions
    if old is None or new is None:
        return None
    return Shift(new - old, instrument.fret_mm(new) - instrument.fret_mm(old))


def _watch(
    moves: tuple[Move, ...], barres: tuple[BarreMove, ...], shift: Shift | None, instrument: Instrument
) -> int | None:
    """Return the one finger to watch.

    A barre being laid comes before a finger placed from the air, before a cross, before a guide; among equals the
    one with most of its own way left, then the one needed first, then the lowest finger.
    """
    if any(move.action is Action.UNKNOWN for move in moves):
        return None
    laid = {barre.end.finger for barre in barres if BarreAction.LAID in barre.actions and barre.end is not None}
    hand_mm = 0.0 if shift is None else shift.mm

    def urgency(move: Move) -> tuple[int, float, Fraction, int]:
        own = left_after_shift(move, hand_mm, instrument)
        return _rank(move, laid), -round(own, 6), move.needed_by or _LATEST, move.finger

    arriving = [move for move in moves if move.finger in laid or move.action in _ARRIVALS]
    return min(arriving, key=urgency).finger if arriving else None


_ARRIVALS = (Action.PLACE, Action.CROSS, Action.GUIDE, Action.SWAP)
"""What a finger to watch may be doing; a swap is watched as what it is, a finger from the air or across strings."""


def _rank(move: Move, laid: set[int]) -> int:
    if move.finger in laid:
        return 0
    if move.start is None:
        return 1
    return 3 if move.action is Action.GUIDE else 2
