"""What the fingers already set in a passage say of the notes that are not: the same thing is fingered alike.

A note that is fingered elsewhere in the passage is evidence for a note of the same pitch, the stronger the more of its
surroundings agree: the notes struck with it, then those before and after.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from trainer.hand.search.costs import Moment
from trainer.hand.search.fingering import Taken
from trainer.hand.search.passage import Passage
from trainer.hand.search.places import Floats

Context: TypeAlias = tuple[tuple[int, ...], ...]

DOUBT = 2.0
"""Evidence that stands for not knowing: so much, spread over open and the four fingers."""
CHOICES = 5


def contexts(passage: Passage) -> dict[int, tuple[Context, ...]]:
    """Return for each note its contexts from the loosest to the closest, beginning with its pitch alone."""
    slices = passage.slices
    pitches = [tuple(passage.notes[index].midi for index in piece.struck) for piece in slices]
    found: dict[int, tuple[Context, ...]] = {}
    for at, piece in enumerate(slices):
        around = tuple(pitches[max(at - 2, 0) : at + 3])
        beside = tuple(pitches[max(at - 1, 0) : at + 2])
        for index in piece.struck:
            own = (passage.notes[index].midi,)
            found[index] = ((own,), (own, pitches[at]), (own, *beside), (own, *around, ()))
    return found


WEIGHTS = (0.3, 1.0, 4.0, 8.0)
"""What one finger set in each context counts, from the loosest to the closest (set by hand on the fit's own pieces)."""


def with_habits(moments: Sequence[Moment], passage: Passage, strength: float = 1.0) -> list[Moment]:
    """Return the moments with a cost added to each grip that fingers a note unlike the same note elsewhere.

    The cost of a finger is the negative logarithm of its share of the evidence, less that of the likeliest.
    """
    around = contexts(passage)
    seen: dict[Context, Counter[int]] = {}
    for index, note in enumerate(passage.notes):
        if note.finger is not None:
            for context in around[index]:
                seen.setdefault(context, Counter())[note.finger] += 1
    found = []
    for piece, moment in zip(passage.slices, moments, strict=True):
        extra = moment.extra.copy()
        for column, index in enumerate(piece.struck):
            if passage.notes[index].finger is None:
                extra += strength * _costs(around[index], seen)[moment.grips.fingers[:, column]]
        found.append(replace(moment, extra=extra))
    return found


def _costs(around: tuple[Context, ...], seen: dict[Context, Counter[int]]) -> Floats:
    evidence = np.full(CHOICES, DOUBT / CHOICES)
    for context, weight in zip(around, WEIGHTS, strict=True):
        for finger, count in seen.get(context, Counter()).items():
            evidence[finger] += weight * count
    return np.asarray(np.log(evidence.max()) - np.log(evidence), dtype=np.float64)


def near_to(moments: Sequence[Moment], passage: Passage, notes: Sequence[Taken], price: float) -> list[Moment]:
    """Return the moments with `price` added to a grip for each note that it takes otherwise than `notes` does."""
    found = []
    for piece, moment in zip(passage.slices, moments, strict=True):
        extra = moment.extra.copy()
        for column, index in enumerate(piece.struck):
            strings, fingers = moment.grips.strings[:, column], moment.grips.fingers[:, column]
            extra += price * ((strings != notes[index].string) | (fingers != notes[index].finger))
        found.append(replace(moment, extra=extra))
    return found
