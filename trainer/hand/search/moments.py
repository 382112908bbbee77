"""From a passage to its moments: the grips for each slice and what sounds around it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from trainer.hand.reach import Hand
from trainer.hand.search.costs import LONG, Moment
from trainer.hand.search.grips import Grips, Wanted, grips
from trainer.hand.search.passage import Passage, Slice
from trainer.hand.search.places import NO_PITCH, Bools, Floats

AHEAD, BEHIND = Fraction(2), Fraction(2)
"""Quarter notes within which a barre may be laid for a note to come, or stay for one that has been."""


@dataclass(frozen=True, slots=True)
class Stuck:
    """A slice whose notes cannot be taken together."""

    index: int
    """Which slice."""


def moments(passage: Passage, hand: Hand) -> list[Moment] | Stuck:
    """Return the moments of `passage`, or the first slice whose notes this hand cannot take."""
    found: list[Moment] = []
    known: dict[tuple[tuple[Wanted, ...], frozenset[int]], Grips] = {}
    slices = passage.slices
    since = np.full(NO_PITCH + 1, LONG)
    for index, piece in enumerate(slices):
        wanted = tuple(Wanted.of(passage.notes[i], _barre(passage, piece.onset)) for i in piece.struck)
        near = _near(passage, slices, index)
        key = (wanted, near)
        if key not in known:
            known[key] = grips(wanted, near, passage.instrument, hand)
        if not len(known[key]):
            return Stuck(index)
        before = slices[index - 1] if index else None
        since = _since(passage, before, piece, since)
        sounds = (*piece.struck, *piece.held, *piece.ringing)
        held, ring, on = (_flags(passage, which) for which in (piece.held, piece.ringing, sounds))
        found.append(Moment(known[key], since, held, ring, on, np.zeros(len(known[key]))))
    return found


def _barre(passage: Passage, onset: Fraction) -> tuple[int, int, int | None, int | None] | None:
    for pin in passage.barres:
        if pin.start <= onset < pin.end:
            return pin.finger, pin.fret, pin.low_string, pin.high_string
    return None


def _near(passage: Passage, slices: tuple[Slice, ...], index: int) -> frozenset[int]:
    """Return the pitches for which a barre may lie at this slice: those close before and behind."""
    here = slices[index]
    pitches = {passage.notes[i].midi for i in (*here.struck, *here.held)}
    for way, most in ((-1, BEHIND), (1, AHEAD)):
        at = index + way
        while 0 <= at < len(slices) and abs(slices[at].onset - here.onset) <= most:
            pitches |= {passage.notes[i].midi for i in slices[at].struck}
            at += way
    return frozenset(pitches)


def _since(passage: Passage, before: Slice | None, here: Slice, known: Floats) -> Floats:
    """Return by pitch how long ago its last note was over, 0 where it sounds up to this slice or through it."""
    if before is None:
        return known
    passed = float(here.onset - before.onset)
    since = np.where(known < LONG, np.minimum(known + passed, LONG), LONG)
    for index in (*before.struck, *before.held):
        note = passage.notes[index]
        since[note.midi] = min(float(max(here.onset - note.end, Fraction(0))), LONG)
    return since


def _flags(passage: Passage, which: tuple[int, ...]) -> Bools:
    flags = np.zeros(NO_PITCH + 1, dtype=np.bool_)
    flags[[passage.notes[index].midi for index in which]] = True
    return flags
