"""What each change costs, held against an independent pricing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from typing import TypeAlias

import numpy as np
import pytest

from tests.hand.search import pricing
from tests.hand.search.building import laid_open, notes, passage
from tests.hand.search.pricing import Around, Grip, Key, Player
from tests.hand.search.tallying import amounts_at, grip_at, lies_at, mask_of, only_rows, strings_of
from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import HANDS
from trainer.hand.search.costs import Body, Cost, Detail, Moment, finger_cost, grip_cost, open_cost, shift_cost
from trainer.hand.search.passage import Passage
from trainer.hand.search.places import AIR, Bools, Floats, Ints
from trainer.hand.search.weights import TABLES, TERMS, Weights

Priced: TypeAlias = tuple[Iterable[tuple[Key, float]], object]
"""Amounts, and what the part comes to."""
SEVEN = Instrument.tuned("B1 E2 A2 D3 G3 B3 E4", capo=2)
SHORT = Instrument(scale_mm=330)


def _held(text: str, over: str, instrument: Instrument | None = None) -> Passage:
    """Return the notes of the first word held over all of `over`, half a quarter note each."""
    beat = Fraction(1, 2)
    long = notes(text, beat * (len(over.split()) + 1))
    return Passage.of([*long, *notes(f"- {over}", beat)], instrument)


PASSAGES = {
    "a line up the first string": (passage("F4@1 G4@1 A4@1 B4@1", Fraction(1, 2)), "adult"),
    "thirds with a barre": (passage("F4@1+C4@2 G4@1+D4@2 F4@1+C4@2 E4+C4@2"), "adult"),
    "a broken chord": (passage("C3@5 E3@4 G3@3 C4@2 E4@1 F3@4", Fraction(1, 2)), "small"),
    "an open bass that sounds on": (_held("A2", "C4@2 E4@1 C3@5 A2"), "adult"),
    "open strings that ring until they are stopped": (passage("D3@4 G3@3 B3@2 F3@4 D4@3", Fraction(1, 2)), "adult"),
    "a full barre held under a melody": (_held("F2@6+C3@5+C4@2+F4@1", "G4@1 A4@1 F4@1 E4"), "adult"),
    "above fret 12, rests between": (passage("F5@1 - A5@1 - - - - - F5@2 D5@2+A5@1"), "adult"),
    "basses that slide": (passage("F2@6 G2@6 A2@6 - A2@6 C3@5+G3@4", Fraction(1, 4)), "child"),
    "seven strings and a capo": (_held("C#3", "A3 C#4+F#4 E4 B2", SEVEN), "small"),
    "wide grips": (passage("F3@4+A4@1 G2@6+B4@1 F#3@4+A#4@1 C3@5+D#4@2"), "adult"),
    "fingers off the frame on a short neck": (passage("A4@1.1+A#4@2.2 A4@1 B4@2", instrument=SHORT), "adult"),
}
"""Passages written for their terms, and the hand that takes them."""


def _sampled(rng: np.random.Generator, most: int, of: int) -> Ints:
    return np.sort(rng.choice(of, min(most, of), replace=False))


def _priced(amounts: dict[Key, float]) -> float:
    weights = _weights()
    return sum(
        amount * float(weights.tables[str(name)][tuple(map(int, at))] if at else weights.terms[str(name)])
        for (name, *at), amount in amounts.items()
    )


@dataclass(frozen=True, slots=True)
class Cell:
    """One start with one grip, priced here and by the search."""

    where: tuple[object, ...]
    ours: dict[Key, float]
    theirs: dict[Key, float]
    end: object
    their_end: object
    cost: float
    """What the search adds up by the drawn weights."""


@dataclass(slots=True)
class Both:
    """A tally that adds up cost and keeps every amount."""

    cost: Cost
    detail: Detail = field(default_factory=Detail)

    def term(self, name: str, amount: Floats | Bools | Ints) -> None:
        self.cost.term(name, amount)
        self.detail.term(name, amount)

    def table(self, name: str, index: Ints, counts: Bools | Ints) -> None:
        self.cost.table(name, index, counts)
        self.detail.table(name, index, counts)


@cache
def _weights() -> Weights:
    """Return weights of which no two are alike."""
    rng = np.random.default_rng(3)
    return Weights(
        "drawn",
        {name: float(rng.uniform(-2, 2)) for name in TERMS},
        {name: rng.uniform(-2, 2, shape) for name, shape in TABLES.items()},
    )


@cache
def _cells(name: str) -> tuple[Cell, ...]:
    """Return a sample of every part of every change of a passage: hands that occur in it and hands drawn."""
    whole, hand = PASSAGES[name]
    laid, rng = laid_open(whole, hand=HANDS[hand]), np.random.default_rng(1)
    player = Player(whole.instrument, HANDS[hand])
    found: list[Cell] = []
    for at, (moment, step) in enumerate(zip(laid.moments, laid.steps, strict=True)):
        some = Sample(
            replace(moment, grips=only_rows(moment.grips, _sampled(rng, 12, len(moment.grips)))),
            pricing.around(whole, at),
            laid.body,
            player,
        )
        found += some.grips()
        for finger, part in enumerate(step.fingers):
            drawn = rng.integers(1, len(laid.body.table.fret), 4)
            found += some.finger(finger, np.concatenate([part.start[_sampled(rng, 7, len(part.start))], drawn]))
        found += some.shifts(np.array([0, 1, *rng.integers(1, 13, 4)]), rng.choice([0, 0.25, 1, 4], 6))
        found += some.opens(np.concatenate([step.opened.start, rng.integers(1, len(laid.body.ones), 3)]))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Sample:
    """Some grips of one moment, and what both pricings need beside them."""

    moment: Moment
    around: Around
    body: Body
    player: Player

    def _each(
        self, what: str, starts: Sequence[object], tally: Both, ends: Ints | None, price: Callable[[int, Grip], Priced]
    ) -> Iterator[Cell]:
        shape = (len(starts), len(self.moment.grips))
        total = np.broadcast_to(tally.cost.total, shape)
        for column in range(shape[1]):
            grip = grip_at(self.moment.grips, column, self.body.table)
            for row, start in enumerate(starts):
                amounts, end = price(row, grip)
                their_end = None if ends is None else int(ends[row, column])
                yield Cell(
                    (what, start, grip),
                    pricing.total(amounts),
                    amounts_at(tally.detail, row, column, shape),
                    end,
                    their_end,
                    float(total[row, column]),
                )

    def grips(self) -> Iterator[Cell]:
        tally = Both(Cost(_weights()))
        grip_cost(tally, self.moment, self.body)
        return self._each("grip", [None], tally, None, lambda _, grip: (pricing.of_grip(grip, self.player), None))

    def finger(self, finger: int, places: Ints) -> Iterator[Cell]:
        tally, number = Both(Cost(_weights())), self.body.table.number
        ends = finger_cost(tally, finger, places, self.moment, self.body)
        starts = [lies_at(int(place), self.body.table) for place in places]

        def price(row: int, grip: Grip) -> Priced:
            known = (finger + 1, starts[row], grip, self.around, self.player)
            end = pricing.end_of(*known)
            return pricing.of_finger(*known), AIR if end is None else number[end]

        return self._each(f"finger {finger + 1}", starts, tally, ends, price)

    def shifts(self, positions: Ints, times: Floats) -> Iterator[Cell]:
        tally = Both(Cost(_weights()))
        ends = shift_cost(tally, positions, times, self.moment, self.body)
        starts = list(zip(map(int, positions), map(float, times), strict=True))

        def price(row: int, grip: Grip) -> Priced:
            return pricing.of_shift(*starts[row], grip, self.player), grip.position or starts[row][0]

        return self._each("shift", starts, tally, ends, price)

    def opens(self, masks: Ints) -> Iterator[Cell]:
        tally = Both(Cost(_weights()))
        ends = open_cost(tally, masks, self.moment, self.body)
        starts = [strings_of(int(mask)) for mask in masks]

        def price(row: int, grip: Grip) -> Priced:
            known = (starts[row], grip, self.around, self.player)
            return pricing.of_open(*known), mask_of(pricing.open_after(*known))

        return self._each("open", starts, tally, ends, price)


def test_the_instrument_as_the_costs_need_it() -> None:
    """Standard tuning from string 1 on, strings 4 to 6 wound, comfortable 1 to 4 of the starting hand 100 mm."""
    body = Body.of(Instrument(), HANDS["adult"])
    assert body.opens.tolist() == [64, 59, 55, 50, 45, 40]
    assert body.wound == 0b111000
    assert body.reach_mm == 100
    assert body.ones.tolist() == [bin(mask).count("1") for mask in range(64)]


@pytest.mark.parametrize("name", PASSAGES)
def test_every_part_costs_what_its_terms_say(name: str) -> None:
    cells = _cells(name)
    assert len(cells) > 300
    for cell in cells:
        assert cell.theirs == pytest.approx(cell.ours), cell.where
        assert cell.their_end == cell.end, cell.where


@pytest.mark.parametrize("name", PASSAGES)
def test_costs_are_weights_times_amounts(name: str) -> None:
    for cell in _cells(name):
        assert cell.cost == pytest.approx(_priced(cell.theirs)), cell.where


def test_every_term_and_table_was_met() -> None:
    met = Counter(key[0] for name in PASSAGES for cell in _cells(name) for key in cell.ours)
    assert set(met) == {*TERMS, *TABLES}
    assert min(met.values()) >= 10, met
