"""What a change does to the sound: strings that ring through, strings that stop and why, squeaks."""

from __future__ import annotations

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import Shape
from trainer.hand.change import Action, BarreAction, BarreMove, Move, Why


def sounding(shape: Shape, plucked: Plucked | None) -> tuple[int, ...]:
    """Return the strings that sound in `shape`, last string first: the plucked ones, all of them where not said."""
    struck = set(shape.sounding) if plucked is None else plucked.strings & set(shape.sounding)
    return tuple(sorted(struck, reverse=True))


def unstruck(string: int, shape: Shape, plucked: Plucked | None) -> bool:
    """Tell whether `shape` begins without striking `string`, so that a note held over goes on sounding."""
    stop = shape[string]
    if stop is None or stop.silent:
        return True
    if plucked is None:
        return False
    first = plucked.first(string)
    return first is None or first > plucked.strokes[0].beat


def fate(string: int, before: Shape, after: Shape, plucked_after: Plucked | None) -> Why | None:
    """Return why `string`, sounding in `before`, stops on the way to `after`; None where it rings through."""
    old, new = before[string], after[string]
    if old is None:
        raise ValueError(f"string {string} is muted, so it has no fate")
    holder = _holder(string, after)
    if not old.stopped:
        if (new is not None and new.stopped) or holder is not None:
            return Why.RESTOPPED
        return Why.DAMP if new is None else None
    if new is None or not new.stopped:
        if holder is None:
            return Why.LIFTED
        return None if holder == old.fret else Why.RESTOPPED
    if new.fret != old.fret:
        return Why.RESTOPPED
    same = old.finger == new.finger or None in {old.finger, new.finger}
    return None if same or unstruck(string, after, plucked_after) else Why.RESTOPPED


def squeaks(moves: tuple[Move, ...], barres: tuple[BarreMove, ...], instrument: Instrument) -> tuple[int, ...]:
    """Return the wound strings along which a guide finger or a barre slides, last string first."""
    slid = {move.start[0] for move in moves if move.action is Action.GUIDE and move.start is not None}
    for barre in barres:
        if BarreAction.SLID in barre.actions and barre.start is not None and barre.end is not None:
            slid |= set(barre.start.strings) & set(barre.end.strings)
    return tuple(string for string in sorted(slid, reverse=True) if instrument.is_wound(string))


def buys_time(before: Shape, rings: tuple[int, ...], plucked: Plucked | None) -> tuple[int, ...]:
    """Return the open strings that sound while the hand shifts away from `before`, last string first.

    They are the open strings that ring through and, in a figure, those of its last stroke.
    """
    strings = set(rings)
    if plucked is not None and len(plucked.strokes) > 1:
        strings |= set(plucked.strokes[-1].strings)
    return tuple(string for string, stop in before if string in strings and not stop.stopped)


def _holder(string: int, shape: Shape) -> int | None:
    """Return the fret of the barre that lies across `string`, whatever the string itself is written as."""
    return max((barre.fret for barre in shape.barres if string in barre.strings), default=None)
