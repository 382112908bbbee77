"""Rounds of a class: everyone plays, each seat is marked, and the tempo aims at what four in five can do.

Nobody is ever out: a round that some missed makes the next one a little slower for all.

The aim is a stochastic approximation (Robbins and Monro, A Stochastic Approximation Method, Annals of Mathematical
Statistics 22, 1951): each round moves the tempo by a step times how far the share of the class was from the wanted one,
which comes to rest where the share is as wanted, whatever the curve between tempo and share looks like. A transformed
up-down rule (as in `practice.ladder`) knows only clean or not, so it would throw away how many had it, and it has its
own shares (79.4 % is the nearest); this one takes any. The step shrinks only where the class crossed from above the
wanted share to below or back (Kesten, Accelerated Stochastic Approximation, Annals of Mathematical Statistics 29,
1958): on a long way up it stays wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from trainer.practice.measures import Answer
from trainer.practice.record import How
from trainer.practice.tempo import within_limits

WANTED = Fraction(4, 5)
"""The share of the class that a tempo is to suit."""
GAIN = 0.5
"""First step, in parts of tempo a part of the class (ours, no source): all had it makes the tempo 10 % faster, nobody
a third slower."""
LEAST_GAIN = GAIN / 8
"""The step shrinks no further (ours, no source): a class that learns within the hour is still followed, by 1.3 % a
round at most. The price is that the tempo never comes to rest, but stays within about as much."""


@dataclass(frozen=True, slots=True)
class Aim:
    """A tempo that follows a class."""

    exact: float
    """Beats per minute, before rounding."""
    turns: int = 0
    """How many times the class crossed the wanted share."""
    above: bool | None = None
    """Whether it was above it last; None before it was on either side."""

    @property
    def tempo(self) -> float:
        """The tempo to play at: whole beats per minute."""
        return float(round(self.exact))

    @property
    def gain(self) -> float:
        """The step, in parts of tempo a part of the class."""
        return max(GAIN / (1 + self.turns), LEAST_GAIN)

    def after(self, share: Fraction | None) -> Aim:
        """Return the aim after a round that this share of the class had; None or the wanted share: as it is."""
        if share is None or share == WANTED:
            return self
        above = share > WANTED
        crossed = self.above is not None and self.above is not above
        moved = replace(self, turns=self.turns + crossed, above=above)
        return replace(moved, exact=within_limits(self.exact * math.exp(moved.gain * float(share - WANTED))))

    def at(self, tempo: float) -> Aim:
        """Return the aim at another tempo, which somebody chose: it goes on from there with the step it has."""
        return replace(self, exact=within_limits(tempo))


class Mark(StrEnum):
    """How a round was for a seat."""

    HAD = "had it"
    MISSED = "missed"
    AWAY = "away"
    """Nobody is there: it does not count."""


@dataclass(frozen=True, slots=True)
class ChangeHeard:
    """What was heard of one change that a round asks for."""

    number: int | None
    """Which of the round's changes, from 0; None for a way back between two of them."""
    landed: bool
    """Whether it landed on its beat."""
    late_ms: float | None = None
    """How late it was, in milliseconds; negative: early; None where it cannot be known."""
    kept_down: Mapping[int, Answer] = field(default_factory=lambda: MappingProxyType({}))
    """Whether each finger that was to stay down did, by finger 1 to 4."""


@dataclass(frozen=True, slots=True)
class SeatHeard:
    """What was heard of one seat in a round. Whoever listens sends one for each seat that has a port."""

    seat: str
    """Which seat, by its id."""
    changes: tuple[ChangeHeard, ...]
    """Each change that was asked for; a round that was frozen and went on asked for the last ones alone."""

    @property
    def landed(self) -> bool:
        """Whether every change landed on its beat."""
        return all(change.landed for change in self.changes)

    @property
    def late_ms(self) -> float | None:
        """How late the one was that was furthest from its beat; None where that is known of none."""
        return max((one.late_ms for one in self.changes if one.late_ms is not None), key=abs, default=None)

    @property
    def finger_up(self) -> int | None:
        """The first finger that was to stay and came up; None: none, or it cannot be known."""
        answers = (answer for change in self.changes for answer in sorted(change.kept_down.items()))
        return next((finger for finger, down in answers if down is Answer.NO), None)

    def of(self, number: int) -> ChangeHeard | None:
        """Return what was heard of a change of the round, counted from 0; None where nobody listened for it."""
        return next((change for change in self.changes if change.number == number), None)


@dataclass(frozen=True, slots=True)
class Result:
    """One seat in one round."""

    seat: str
    """Which seat, by its id."""
    mark: Mark
    """How it was."""
    heard: SeatHeard | None = None
    """What was heard; None where nothing listened, or where somebody marked otherwise than was heard."""


@dataclass(frozen=True, slots=True)
class Round:
    """A round that is over and marked."""

    tempo: float
    """Beats per minute."""
    pairs: tuple[tuple[int, int], ...]
    """The changes that were played: indices of the shape left and of the shape reached."""
    results: tuple[Result, ...]
    """One a seat, in the order of the seats."""
    how: How = How.READ
    """From memory where the board was hidden from the first beat to the last."""

    @property
    def asked(self) -> int:
        """How many seats were there."""
        return sum(result.mark is not Mark.AWAY for result in self.results)

    @property
    def had(self) -> int:
        """How many had it."""
        return sum(result.mark is Mark.HAD for result in self.results)

    @property
    def share(self) -> Fraction | None:
        """The share that had it; None where nobody was there."""
        return Fraction(self.had, self.asked) if self.asked else None


@dataclass(frozen=True, slots=True)
class Marking:
    """The marks of a round while they are given."""

    seats: tuple[str, ...]
    """The seats' ids in order."""
    usual: Mark = Mark.HAD
    """What a seat has that was neither heard nor marked: marking goes by exception, one way or the other."""
    given: Mapping[str, Mark] = field(default_factory=lambda: MappingProxyType({}))
    """What was marked by hand, by seat; who is away stays so from round to round."""
    heard: Mapping[str, SeatHeard] = field(default_factory=lambda: MappingProxyType({}))
    """What was heard, by seat."""

    def mark(self, seat: str) -> Mark:
        """Return how the round is for `seat` as it stands."""
        if seat in self.given:
            return self.given[seat]
        if seat in self.heard:
            return Mark.HAD if self.heard[seat].landed else Mark.MISSED
        return self.usual

    def toggled(self, seat: str) -> Marking:
        """Return the marks with `seat` marked the other way; who was away is there again."""
        now = self.mark(seat)
        return self._with(seat, Mark.MISSED if now is Mark.HAD else Mark.HAD if now is Mark.MISSED else self.usual)

    def away(self, seat: str) -> Marking:
        """Return the marks with `seat` away, or there again."""
        return self._with(seat, self.usual if self.mark(seat) is Mark.AWAY else Mark.AWAY)

    def other_way(self) -> Marking:
        """Return the marks begun anew the other way: all had it but those marked, or nobody but those marked."""
        usual = Mark.MISSED if self.usual is Mark.HAD else Mark.HAD
        return replace(self, usual=usual, given=self._only_away)

    def hear(self, heard: Iterable[SeatHeard]) -> Marking:
        """Return the marks with what was heard; what was marked by hand stays. Seats that are not here are left out."""
        new = {one.seat: one for one in heard if one.seat in self.seats}
        return replace(self, heard=MappingProxyType({**self.heard, **new}))

    def again(self) -> Marking:
        """Return the marks of the next round, none given yet."""
        return replace(self, given=self._only_away, heard=MappingProxyType({}))

    def results(self) -> tuple[Result, ...]:
        """Return what each seat had."""
        return tuple(self._result(seat) for seat in self.seats)

    def _result(self, seat: str) -> Result:
        mark, heard = self.mark(seat), self.heard.get(seat)
        agree = heard is not None and mark is (Mark.HAD if heard.landed else Mark.MISSED)
        return Result(seat, mark, heard if agree else None)

    def _with(self, seat: str, mark: Mark) -> Marking:
        if seat not in self.seats:
            raise ValueError(f"no seat {seat}")
        return replace(self, given=MappingProxyType({**self.given, seat: mark}))

    @property
    def _only_away(self) -> Mapping[str, Mark]:
        return MappingProxyType({seat: mark for seat, mark in self.given.items() if mark is Mark.AWAY})
