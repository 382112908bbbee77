"""What each barre does in a change."""

from __future__ import annotations

from trainer.fretboard.shape import FINGERS, Placing, Shape
from trainer.hand.change import BarreAction, BarreMove


def barre_moves(before: Shape, after: Shape) -> tuple[BarreMove, ...]:
    """Return what every barre of either shape does, in finger order."""
    moves: list[BarreMove] = []
    for finger in FINGERS:
        start, end = before.placings.get(finger), after.placings.get(finger)
        if (start is not None and start.is_barre) or (end is not None and end.is_barre):
            moves += _finger_moves(start, end)
    return tuple(moves)


def _finger_moves(start: Placing | None, end: Placing | None) -> list[BarreMove]:
    if start is not None and end is not None and _in_contact(start, end):
        return [BarreMove(_contact_actions(start, end), start.barre, end.barre)]
    moves = []
    if start is not None and start.is_barre:
        moves.append(BarreMove((BarreAction.RAISED,), start.barre, None))
    if end is not None and end.is_barre:
        moves.append(BarreMove((BarreAction.LAID,), None, end.barre))
    return moves


def _in_contact(start: Placing, end: Placing) -> bool:
    """Tell whether the finger can go from one to the other without leaving the strings.

    A fingertip that slides to another fret and lies down there is a barre newly laid, not a barre that slid.
    """
    if not set(start.strings) & set(end.strings):
        return False
    return start.fret == end.fret or (start.is_barre and end.is_barre)


def _contact_actions(start: Placing, end: Placing) -> tuple[BarreAction, ...]:
    """Return every action that is true of a finger that stays in contact, one end of it being a barre."""
    old, new = set(start.strings), set(end.strings)
    stays = start.fret == end.fret
    holds_an_end = start.strings[0] == end.strings[0] or start.strings[-1] == end.strings[-1]
    from_or_to_a_tip = not (start.is_barre and end.is_barre)
    truths = (
        (BarreAction.LAID, not start.is_barre),
        (BarreAction.RAISED, not end.is_barre),
        (BarreAction.KEPT, stays and old == new),
        (BarreAction.SLID, not stays),
        (BarreAction.HINGED, stays and old != new and (holds_an_end or from_or_to_a_tip)),
        (BarreAction.WIDENED, bool(new - old) and not from_or_to_a_tip),
        (BarreAction.NARROWED, bool(old - new) and not from_or_to_a_tip),
    )
    return tuple(action for action, true in truths if true)
