"""Where a drill would be clearly easier with other fingers: the same strings and frets, one change relieved.

Looked for only where every finger of the drill is given, for without them there is nothing to be easier than, and
where the drill does not say what it trains: one that does was fingered so on purpose. Other strings are not looked at:
the same notes elsewhere on the neck sound otherwise, which is the player's choice and not the hand's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from trainer.errors import ChangeoverError
from trainer.fretboard.text import print_shape
from trainer.hand.reach import Hand
from trainer.hand.search.fingering import Fingering, Taken
from trainer.hand.search.passage import Passage
from trainer.practice.course import Pair
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.fingering import Keep, costs_of, fingered, passage_of

MARGIN = 5.0
"""The whole drill must cost so much less in the plain hand model: what three barres cost to lay (ours, no source).
Of the 378 drills of two stock shapes, there and back, it tells of a change in one in nine."""
HERE = 0.5
"""So much of what is saved must be saved at the one change, or it is no change in particular that is easier."""
LEFT = 0.6
"""The change itself may cost so much of what it did: less than that is no relief to speak of."""
MOST_NOTES = 300
"""Longer drills are not looked at: it would take seconds beside the playing."""


@dataclass(frozen=True, slots=True)
class Easier:
    """One change that would be clearly easier."""

    pair: Pair
    """The change: index of the shape left and of the shape reached."""
    saved: float
    """What the whole drill would cost less."""
    words: str
    """How, in one clause: `from C to G7: G7 as 3/3 2/2 0 0 0 1/1`."""


def easier(drill: Drill, hand: Hand) -> tuple[Easier, ...]:
    """Return the changes of `drill` that would be clearly easier for `hand`, in order, each with what to do instead."""
    if drill.trains or not all(step.shape.fingered for step in drill.steps):
        return ()
    passage = passage_of(drill, Keep.FINGERS)
    if len(passage.notes) > MOST_NOTES:
        return ()
    now = _costs(drill, hand)
    own = [Taken(note.string or 0, note.fret or 0, note.finger or 0) for note in passage.notes]
    best = _best(passage_of(drill, Keep.FRETS), hand, own)
    if now is None or best is None:
        return ()
    try:
        other = fingered(drill, best)
    except ChangeoverError:  # what is easiest is not held as one shape each, which a drill must be
        return ()
    told = (_told(drill, other, span, now, hand) for span in _spans(drill, other))
    return tuple(each for each in told if each is not None)


def _spans(drill: Drill, other: Drill) -> Iterator[range]:
    """Yield each run of neighbouring shapes that are fingered otherwise in `other`."""
    differ = [_fingers(a) != _fingers(b) for a, b in zip(drill.steps, other.steps, strict=True)]
    edges = [at for at, (a, b) in enumerate(pairwise([False, *differ, False])) if a != b]
    return (range(first, end) for first, end in zip(edges[::2], edges[1::2], strict=True))


def _fingers(step: Step) -> dict[int, int | None]:
    return {string: stop.finger for string, stop in step.shape if string in step.plucked.strings and stop.stopped}


def _told(drill: Drill, other: Drill, span: range, now: tuple[float, ...], hand: Hand) -> Easier | None:
    """Return what the shapes of `span` as `other` has them would spare; None where that is not clearly one change."""
    if any(len(other.steps[at].shape.barres) > len(drill.steps[at].shape.barres) for at in span):
        return None  # a barre more is no relief, whatever it saves
    steps = tuple(other.steps[at] if at in span else step for at, step in enumerate(drill.steps))
    then = _costs(replace(drill, steps=steps), hand)
    if then is None:
        return None
    saved = sum(now) - sum(then)
    touching = [at for at, pair in enumerate(drill.pairs) if set(pair) & set(span)]
    at = max(touching, key=lambda at: now[at + 1] - then[at + 1])
    if saved < MARGIN or now[at + 1] - then[at + 1] < HERE * saved or then[at + 1] > LEFT * now[at + 1]:
        return None
    before, after = drill.pairs[at]
    how = ", ".join(
        f"{_name(drill, each)} as {print_shape(steps[each].shape)}" for each in (before, after) if each in span
    )
    return Easier((before, after), saved, f"from {_name(drill, before)} to {_name(drill, after)}: {how}")


def _name(drill: Drill, at: int) -> str:
    return drill.steps[at].label or f"shape {at + 1}"


def _costs(drill: Drill, hand: Hand) -> tuple[float, ...] | None:
    """Return what taking the first shape and then each change of a round costs; None where it cannot be held."""
    steps = (drill.steps[0], *(drill.steps[after] for _, after in drill.pairs))
    around = replace(drill, steps=steps, order=Order.ONCE, segments=())
    best = _best(passage_of(around, Keep.FINGERS), hand)
    return None if best is None else costs_of(around, best)


def _best(passage: Passage, hand: Hand, near: Sequence[Taken] | None = None) -> Fingering | None:
    """Return the best way through `passage`, `near` to how its notes are taken if given; None where there is none."""
    # Numpy is paid for only where something has to be sought.
    from trainer.hand.search.impossible import Impossible
    from trainer.hand.search.solve import work_out

    found = work_out(passage, hand, near=near)
    return None if isinstance(found, Impossible) else found.best
