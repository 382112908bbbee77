"""The marks that occur in one change, for a legend beside the board."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.hand.change import Action, BarreAction, BarreMove, Change, Why
from trainer.ui.board.marks import ARRIVALS, MARKS, Glyphs, Mark, Sign
from trainer.ui.board.neck import edge_sign

_PATHS = {Action.GUIDE: Sign.SLIDE, Action.CROSS: Sign.AIR}
"""The path that belongs to an action."""


def legend(change: Change, glyphs: Glyphs) -> tuple[tuple[str, Mark], ...]:
    """Return (sample of three cells, mark) of each mark that the board shows for `change`, in the table's order."""
    shown = set(_finger_signs(change)) | set(_barre_signs(change)) | set(_string_signs(change))
    return tuple((glyphs.mark(sign), mark) for sign, mark in MARKS.items() if sign in shown)


def _finger_signs(change: Change) -> Iterator[Sign]:
    if any(move.action is Action.UNKNOWN for move in change.moves):
        yield from (Sign.LEAVE, Sign.HELD)
    hinged = {barre.end.finger for barre in change.barres if barre.end and BarreAction.HINGED in barre.actions}
    for move in change.moves:
        if move.action is Action.LIFT:
            yield Sign.LIFT
        elif move.action is Action.KEPT:
            yield Sign.HINGE if move.finger in hinged else Sign.KEPT
        elif move.start is not None:
            yield Sign.LEAVE
        if move.action in ARRIVALS and move.action is not Action.KEPT:
            yield ARRIVALS[move.action]
        if move.action in _PATHS:
            squeaks = move.action is Action.GUIDE and move.start is not None and move.start[0] in change.squeaks
            yield Sign.SQUEAK if squeaks else _PATHS[move.action]
    if change.watch is not None:
        yield Sign.WATCH


def _barre_signs(change: Change) -> Iterator[Sign]:
    for barre in change.barres:
        old, new = _strings(barre, before=True), _strings(barre, before=False)
        same_fret = barre.start is not None and barre.end is not None and barre.start.fret == barre.end.fret
        if same_fret and len(old & new) > 1:
            yield Sign.BAR_STAYS
        if len(old) > 1 and (not same_fret or old - new):
            yield Sign.BAR_GOES
        if len(new) > 1 and (not same_fret or new - old):
            yield Sign.BAR_COMES
        if BarreAction.SLID in barre.actions:
            both = old & new
            yield from (Sign.SQUEAK if string in change.squeaks else Sign.SLIDE for string in (min(both), max(both)))


def _strings(barre: BarreMove, *, before: bool) -> set[int]:
    end = barre.start if before else barre.end
    return set() if end is None else set(end.strings)


def _string_signs(change: Change) -> Iterator[Sign]:
    damped = {string for string, why in change.stops if why is Why.DAMP}
    for string in range(1, change.after.strings + 1):
        sign = edge_sign(change.before[string], change.after[string], damp=string in damped)
        if sign is not None:
            yield sign
    if change.rings:
        yield Sign.RINGS
