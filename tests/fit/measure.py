"""How well fingerings agree with the print, note by note, with bootstrap intervals over pieces."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tests.fit.editions import Piece, set_fingers
from tests.fit.soft import Chances, chances, likeliest, taken
from trainer.hand.reach import Hand
from trainer.hand.search.costs import Body, Moment
from trainer.hand.search.habits import with_habits
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import steps
from trainer.hand.search.passage import Passage
from trainer.hand.search.weights import Weights

WIDTH, MANY = 120, 12
"""States a layer may hold while measuring, and ways followed for each."""


@dataclass(slots=True)
class Share:
    """So many of so many."""

    right: int = 0
    of: int = 0

    def add(self, right: bool) -> None:
        self.right += right
        self.of += 1


KINDS = ("cheapest", "likeliest", "top two", "digit 0", "string")
"""What is counted of a piece: fingers 1 to 4 on the cheapest way and on the likeliest playable one, the printed finger
among the two likeliest, printed 0 taken open, printed string."""


@dataclass(frozen=True, slots=True)
class Given:
    """What is set of a piece before it is fingered."""

    name: str
    share: float
    """Share of the printed digits that are set."""
    strings: bool = False
    """Whether printed strings are set."""
    stopped: bool = False
    """Whether it is known of printed 1 to 4 that the note is not open, and of 0 that it is."""


COLD = Given("cold", 0.0)
KNOWN_OPEN = Given("cold, open notes known", 0.0, stopped=True)
HALF = Given("half given", 0.5)
MOST = Given("90 % and strings", 0.9, strings=True)


def _playable(passage: Passage, hand: Hand) -> tuple[Passage, list[Moment]]:
    """Return the passage and its moments; where what is set cannot be held, that slice is freed of it."""
    while isinstance(found := moments(passage, hand), Stuck):
        freed = set(passage.slices[found.index].struck)
        if all(passage.notes[i].finger is None and passage.notes[i].string is None for i in freed):
            raise ValueError(f"slice {found.index} cannot be held")
        notes = [
            replace(note, finger=None, string=None, stopped=False) if index in freed else note
            for index, note in enumerate(passage.notes)
        ]
        passage = replace(passage, notes=tuple(notes))
    return passage, found


def measure(
    piece: Piece, weights: Weights, given: Given, seed: int = 1, hand: Hand | None = None, habit: float = 1.0
) -> dict[str, Share]:
    """Return what agrees in one piece, of the printed digits that were not set."""
    hand = hand or Hand()
    digits = [index for index, finger in enumerate(piece.fingers) if finger is not None]
    chosen = random.Random(f"{seed} {piece.name}").sample(digits, round(given.share * len(digits)))
    passage = set_fingers(piece, chosen, strings=given.strings)
    if given.stopped:
        passage = replace(
            passage,
            notes=tuple(
                replace(note, stopped=bool(finger), finger=0 if finger == 0 else None)
                for note, finger in zip(passage.notes, piece.fingers, strict=True)
            ),
        )
    passage, found = _playable(passage, hand)
    if chosen:
        found = with_habits(found, passage, habit)
    parts, _ = steps(found, Body.of(passage.instrument, hand), weights)
    sure = chances(parts, WIDTH, MANY)
    if sure is None:
        raise ValueError(f"{piece.name}: no way through")
    return _counted(piece, passage, found, sure, set(chosen))


def _counted(
    piece: Piece, passage: Passage, found: Sequence[Moment], sure: Chances, chosen: set[int]
) -> dict[str, Share]:
    shares = {kind: Share() for kind in KINDS}
    path = sure.trellis.best()
    cheapest = [int(layer.grip[row]) for layer, row in zip(sure.trellis.layers, path, strict=True)]
    either = zip(passage.slices, found, cheapest, likeliest(sure, found), taken(sure, found), strict=True)
    for piece_slice, moment, cheap, likely, notes in either:
        for column, index in enumerate(piece_slice.struck):
            finger, string = piece.fingers[index], piece.strings[index]
            if string is not None:
                shares["string"].add(bool(moment.grips.strings[cheap, column] == string))
            if finger is None or index in chosen:
                continue
            if finger == 0:
                shares["digit 0"].add(bool(moment.grips.fingers[cheap, column] == 0))
                continue
            shares["cheapest"].add(bool(moment.grips.fingers[cheap, column] == finger))
            shares["likeliest"].add(bool(moment.grips.fingers[likely, column] == finger))
            by_finger: dict[int, float] = {}
            for (_, by), chance in notes[column].items():
                by_finger[by] = by_finger.get(by, 0.0) + chance
            shares["top two"].add(finger in sorted(by_finger, key=lambda by: -by_finger[by])[:2])
    return shares


def lowest_fret(piece: Piece) -> dict[str, Share]:
    """Return what agrees where each note is taken at its lowest fret, by the finger of that fret in position I."""
    shares = {kind: Share() for kind in ("cheapest", "digit 0")}
    instrument = piece.passage.instrument
    for note, finger in zip(piece.passage.notes, piece.fingers, strict=True):
        frets = [note.midi - instrument.pitch(string, 0) for string in range(1, instrument.strings + 1)]
        lowest = min((fret for fret in frets if fret >= 0), default=0)
        if finger is not None:
            shares["cheapest" if finger else "digit 0"].add(min(lowest, 4) == finger)
    return shares


def pooled(each: Sequence[Share]) -> float:
    """Return the share over all pieces in per cent, each note counting once."""
    return 100 * sum(share.right for share in each) / max(1, sum(share.of for share in each))


def interval(each: Sequence[Share], seed: int = 1, times: int = 1000) -> tuple[float, float]:
    """Return the middle 95 % of the share over pieces drawn with replacement."""
    chance = np.random.default_rng(seed)
    right, of = np.array([share.right for share in each]), np.array([share.of for share in each])
    drawn = chance.integers(0, len(each), (times, len(each)))
    shares = 100 * right[drawn].sum(axis=1) / np.maximum(1, of[drawn].sum(axis=1))
    low, high = np.percentile(shares, [2.5, 97.5])
    return float(low), float(high)
