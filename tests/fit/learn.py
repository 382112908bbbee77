"""Fits the weights: gradient ascent on the likelihood of the printed fingers given the notes.

The gradient is what is expected of each amount over all ways, less what is expected over the ways that agree with the
print. Adam, with a pull towards the plain hand model (terms) and towards nothing (tables). What is not printed would
else drift, so four things are taken as known: a printed 1 to 4 is stopped whatever the weights; a note without a digit
that an open string can play is open (an edition prints the unusual); a string that follows from pitch and digit is
that string; and the ways that agree with the print are weighed as if high frets cost `LOW` more. The terms marked fixed
keep their weight: low frets cost what they cost by hand, since few strings are printed.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tests.fit.editions import Piece
from tests.fit.soft import Amounts, chances, ruled
from trainer.hand.reach import Hand
from trainer.hand.search.costs import Body, Moment
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import Step, steps
from trainer.hand.search.passage import Passage
from trainer.hand.search.weights import TABLES, TERMS, Weights, plain

CHUNK, LEAST = 20, 4
"""Slices a chunk has, and printed fingers below which it is not worth its time."""
WIDTH = 60
"""States a layer may hold while fitting."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """A short run of slices with its printed fingers."""

    passage: Passage
    fingers: tuple[int | None, ...]
    strings: tuple[int | None, ...]


LOW = 0.3
"""Further cost of each fret of a stopped note among the ways that agree with the print."""


def chunks(pieces: Sequence[Piece]) -> list[Chunk]:
    """Return the runs of slices of `pieces` that have fingers enough."""
    found = []
    for piece in pieces:
        slices = piece.passage.slices
        for first in range(0, len(slices), CHUNK):
            run = slices[first : first + CHUNK]
            which = [index for part in run for index in part.struck]
            fingers = tuple(piece.fingers[index] for index in which)
            if sum(1 for finger in fingers if finger) < LEAST:
                continue
            notes = tuple(
                replace(
                    piece.passage.notes[index],
                    stopped=bool(finger),
                )
                for index, finger in zip(which, fingers, strict=True)
            )
            strings = tuple(piece.certain[index] for index in which)
            found.append(Chunk(Passage(notes, piece.passage.instrument), fingers, strings))
    return found


SAVES = ("keep",)
"""Terms that may save; every other term costs a hand something or nothing, whatever the print would have."""


class Adam:
    """Weights under way, with the running means of their gradients."""

    def __init__(self, rate: float = 0.05, pull: float = 0.002, table_pull: float = 0.02) -> None:
        self.rate, self.pull, self.table_pull = rate, pull, table_pull
        self.weights = plain()
        self.start = plain()
        self.turns = 0
        self.mean = {key: np.zeros(()) for key in TERMS} | {key: np.zeros(shape) for key, shape in TABLES.items()}
        self.square = {key: value.copy() for key, value in self.mean.items()}

    @property
    def now(self) -> Weights:
        """The weights as they are: a copy, for what a school says of its tables is said when it is made."""
        tables = {name: table.copy() for name, table in self.weights.tables.items()}
        return Weights("editions", dict(self.weights.terms), tables)

    def turn(self, amounts: Amounts) -> None:
        """Take one step against `amounts` (expected by the print less expected by the weights)."""
        self.turns += 1
        for name, term in TERMS.items():
            if not term.fixed:
                gradient = np.array(amounts.terms[name]) + self.pull * (
                    self.weights.terms[name] - self.start.terms[name]
                )
                moved = self.weights.terms[name] - float(self._way(name, gradient))
                self.weights.terms[name] = moved if name in SAVES else max(moved, 0.0)
        for name, table in self.weights.tables.items():
            table -= self._way(name, amounts.tables[name] + self.table_pull * table)

    def _way(self, name: str, gradient: np.ndarray) -> np.ndarray:
        self.mean[name] = 0.9 * self.mean[name] + 0.1 * gradient
        self.square[name] = 0.99 * self.square[name] + 0.01 * gradient**2
        mean = self.mean[name] / (1 - 0.9**self.turns)
        square = self.square[name] / (1 - 0.99**self.turns)
        rate = self.rate / (1 + self.turns / 150)
        return np.asarray(rate * mean / (np.sqrt(square) + 1e-3))


def gradient(chunk: Chunk, weights: Weights, hand: Hand) -> Amounts | None:
    """Return the amounts expected by the print less those expected by the weights; None where no hand can hold it."""
    found = moments(chunk.passage, hand)
    if isinstance(found, Stuck):
        return None
    body = Body.of(chunk.passage.instrument, hand)
    parts, _ = steps(found, body, weights)
    free, bound = chances(parts, WIDTH), chances(_agreeing(chunk, found, parts, body), WIDTH)
    if free is None or bound is None:
        return None
    amounts = Amounts()
    amounts.add(found, parts, body, bound, free)
    return amounts


def _agreeing(chunk: Chunk, found: Sequence[Moment], parts: Sequence[Step], body: Body) -> list[Step]:
    """Return the steps with only the grips that agree with the print, high frets dearer."""
    allowed, dearer, at = [], [], 0
    for moment in found:
        grips = moment.grips
        flags = np.ones(len(grips), dtype=np.bool_)
        for column in range(grips.fingers.shape[1]):
            finger, string, note = chunk.fingers[at], chunk.strings[at], chunk.passage.notes[at]
            at += 1
            for asked, are in ((finger, grips.fingers[:, column]), (string, grips.strings[:, column])):
                if asked is not None and (flags & (are == asked)).any():
                    flags &= are == asked
            is_open = flags & (grips.fingers[:, column] == 0)
            if finger is None and note.midi in body.opens and is_open.any():
                flags = is_open
        allowed.append(flags)
        dearer.append(LOW * grips.frets.sum(axis=1))
    steps_ = [replace(step, grip=step.grip + more) for step, more in zip(parts, dearer, strict=True)]
    return ruled(steps_, allowed)


def fit(pieces: Sequence[Piece], rounds: int, seed: int, hand: Hand | None = None) -> Weights:
    """Return weights fitted on `pieces` in so many rounds over their chunks."""
    hand = hand or Hand()
    runs, chance, adam = chunks(pieces), random.Random(seed), Adam()
    for _ in range(rounds):
        chance.shuffle(runs)
        for run in runs:
            amounts = gradient(run, adam.now, hand)
            if amounts is not None:
                adam.turn(amounts)
    return adam.now
