"""Which signs a change and a shape have, and at which strings and frets: what every drawing of a board goes by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.fretboard.shape import Barre, Shape
from trainer.hand.change import Action, BarreAction, BarreMove, Change, Move, Place
from trainer.ui.board.blocks import ANY_FINGER
from trainer.ui.board.marks import ARRIVALS, MARKS, Role, Sign


@dataclass(frozen=True, slots=True)
class Placed:
    """The mark of one finger."""

    sign: Sign
    """What it says."""
    place: Place
    """String and fret."""
    finger: str
    """The finger's number, or what stands for it where a shape does not say which."""
    role: Role
    """Its colour role."""


@dataclass(frozen=True, slots=True)
class Way:
    """The way of a finger that moves from one place to another."""

    sign: Sign
    """Along its string, with a squeak or without, or through the air."""
    start: Place
    """Where from."""
    end: Place
    """Where to."""
    role: Role
    """Its colour role."""


def held(shape: Shape) -> Iterator[Placed]:
    """Yield the marks of one shape without movement; of two at one place the later goes over the other."""
    yield from _nameless(shape, Sign.HELD)
    for placing in shape.placings.values():
        yield _placed(Sign.HELD, placing.place, str(placing.finger))


def leaving(change: Change) -> Iterator[Placed]:
    """Yield the marks of fingers that do not stay where they were."""
    for move in change.moves:
        if move.start is not None and move.action is not Action.KEPT:
            sign = Sign.LIFT if move.action is Action.LIFT else Sign.LEAVE
            role = MARKS[ARRIVALS.get(move.action, sign)].role
            yield Placed(sign, move.start, str(move.finger), role)
    for one in _nameless(change.before, Sign.LEAVE):
        after = change.after[one.place[0]]
        if after is None or after.fret != one.place[1]:
            yield one


def arriving(change: Change) -> Iterator[Placed]:
    """Yield the marks of fingers that stay, or come to a place."""
    yield from _nameless(change.after, Sign.HELD)
    hinges = {barre.end.finger for barre in change.barres if barre.end and BarreAction.HINGED in barre.actions}
    for move in change.moves:
        if move.end is None:
            continue
        sign = ARRIVALS.get(move.action, Sign.HELD)
        place = stays_at(move, change) if sign is Sign.KEPT else move.end
        sign = Sign.HINGE if sign is Sign.KEPT and move.finger in hinges else sign
        yield _placed(sign, place, str(move.finger))


def ways(change: Change) -> Iterator[Way]:
    """Yield the ways of the fingers that move."""
    for move in change.moves:
        if move.start is None or move.end is None or move.action in {Action.KEPT, Action.UNKNOWN}:
            continue
        if move.action is Action.GUIDE:
            sign = slide_sign(move.start[0], change)
            yield Way(sign, move.start, move.end, MARKS[sign].role)
        else:
            yield Way(Sign.AIR, move.start, move.end, MARKS[ARRIVALS[move.action]].role)


def slide_sign(string: int, change: Change) -> Sign:
    """Return what a slide along `string` looks like."""
    return Sign.SQUEAK if string in change.squeaks else Sign.SLIDE


def stays_at(move: Move, change: Change) -> Place:
    """Return where to show that a finger stays: on a string that it holds before and after."""
    if move.end is None:
        raise ValueError(f"finger {move.finger} stays nowhere")
    before, after = change.before.placings[move.finger], change.after.placings[move.finger]
    both = [string for string in after.strings if string in before.strings]
    return (move.end[0] if move.end[0] in both else max(both)), move.end[1]


def in_place(move: BarreMove) -> bool:
    """Tell whether a barre is at one fret before and after, however much of it."""
    return move.start is not None and move.end is not None and move.start.fret == move.end.fret


def remaining(move: BarreMove) -> Barre | None:
    """Return what of a barre stays down; None where nothing of it does, or a single string."""
    start, end = move.start, move.end
    if start is None or end is None or start.fret != end.fret:
        return None
    low, high = min(start.low_string, end.low_string), max(start.high_string, end.high_string)
    return Barre(end.finger, end.fret, low, high) if low > high else None


def _nameless(shape: Shape, sign: Sign) -> Iterator[Placed]:
    """Yield the marks of the stopped strings of a shape that does not say by which finger."""
    for string, stop in shape:
        if stop.stopped and stop.finger is None:
            yield _placed(sign, (string, stop.fret), ANY_FINGER)


def _placed(sign: Sign, place: Place, finger: str) -> Placed:
    return Placed(sign, place, finger, MARKS[sign].role)
