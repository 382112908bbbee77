"""Rounds of a class: marks by exception, what was heard, and the tempo that settles where four in five have it."""

from __future__ import annotations

import math
from fractions import Fraction
from random import Random
from statistics import mean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.practice.playing import one_heard
from trainer.practice.rounds import GAIN, LEAST_GAIN, Aim, Mark, Marking, Result, Round
from trainer.practice.tempo import FASTEST, SLOWEST

SEATS = tuple(f"s{number}" for number in range(1, 6))


def share_of(limits: list[float], tempo: float) -> Fraction:
    """Return the share of a class that has it at `tempo`: each player up to a tempo of their own."""
    return Fraction(sum(tempo <= limit for limit in limits), len(limits))


def settled(limits: list[float], begin: float, rounds: int, draw: Random | None = None) -> float:
    """Return the mean tempo of the last third of `rounds`; with `draw` a player's limit is another one each round."""
    aim, tempi = Aim(begin), []
    for _ in range(rounds):
        today = [limit * math.exp(draw.gauss(0, 0.1)) for limit in limits] if draw else limits
        aim = aim.after(share_of(today, aim.tempo))
        tempi.append(aim.exact)
    return mean(tempi[-rounds // 3 :])


@pytest.mark.parametrize("begin", [30, 66, 150])
@pytest.mark.parametrize("size", [10, 20, 30])
def test_with_fixed_limits_it_settles_where_four_in_five_have_it(begin: float, size: int) -> None:
    # Limits 4 % apart; at the fifth part from below just four in five are left.
    limits = [60 * 1.04**number for number in range(size)]
    low, high = limits[size // 5 - 1], limits[size // 5]
    assert low * 0.98 <= settled(limits, begin, 90) <= high * 1.02


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("begin", [40, 140])
def test_with_players_who_vary_the_share_at_the_tempo_found_is_four_in_five(begin: float, seed: int) -> None:
    draw = Random(seed)
    limits = [80 * math.exp(draw.gauss(0, 0.2)) for _ in range(20)]
    tempo = settled(limits, begin, 120, draw)
    # What the share is at that tempo in the long run, without any draw: each player's limit varies by a normal law.
    share = mean(0.5 * math.erfc(math.log(tempo / limit) / 0.1 / math.sqrt(2)) for limit in limits)
    assert share == pytest.approx(0.8, abs=0.05)


def test_it_follows_a_class_that_gets_faster() -> None:
    aim, limits = Aim(60.0), [60 * 1.03**number for number in range(15)]
    for number in range(200):
        aim = aim.after(share_of([limit * 1.004**number for limit in limits], aim.tempo))
    assert share_of([limit * 1.004**199 for limit in limits], aim.tempo) == pytest.approx(Fraction(4, 5), abs=0.15)


@given(st.floats(SLOWEST, FASTEST), st.lists(st.fractions(0, 1), max_size=60))
def test_more_than_four_in_five_is_never_slower_and_fewer_never_faster(begin: float, shares: list[Fraction]) -> None:
    aim = Aim(begin)
    for share in shares:
        new = aim.after(share)
        assert SLOWEST <= new.exact <= FASTEST
        assert new.gain <= aim.gain
        assert LEAST_GAIN <= new.gain <= GAIN
        if share >= Fraction(4, 5):
            assert new.exact >= aim.exact
        else:
            assert new.exact <= aim.exact
        aim = new


@pytest.mark.parametrize(
    ("had", "asked", "tempo"),
    [(12, 12, 66.0), (10, 12, 61.0), (4, 5, 60.0), (9, 12, 59.0), (6, 12, 52.0), (0, 12, 40.0)],
)
def test_the_first_step(had: int, asked: int, tempo: float) -> None:
    # 60 exp(0.5 (share - 0.8)), by hand.
    assert Aim(60.0).after(Fraction(had, asked)).tempo == tempo


def test_nobody_there_leaves_the_tempo() -> None:
    round_ = Round(60.0, ((0, 1),), tuple(Result(seat, Mark.AWAY) for seat in SEATS))
    assert (round_.asked, round_.share) == (0, None)
    assert Aim(60.0, 3, above=True).after(round_.share) == Aim(60.0, 3, above=True)


def test_a_chosen_tempo_goes_on_with_the_same_step() -> None:
    assert Aim(60.0, 2, above=True).at(75) == Aim(75.0, 2, above=True)
    assert Aim(60.0).at(1000).exact == FASTEST


def marks(marking: Marking) -> list[Mark]:
    return [result.mark for result in marking.results()]


def test_by_exception_all_had_it_but_those_marked() -> None:
    marking = Marking(SEATS).toggled("s2").toggled("s5").toggled("s5")
    assert marks(marking) == [Mark.HAD, Mark.MISSED, Mark.HAD, Mark.HAD, Mark.HAD]


def test_the_other_way_nobody_had_it_but_those_marked() -> None:
    marking = Marking(SEATS).toggled("s1").other_way().toggled("s2")
    assert marks(marking) == [Mark.MISSED, Mark.HAD, *[Mark.MISSED] * 3]
    assert marks(marking.other_way()) == [Mark.HAD] * 5


def test_who_is_away_does_not_count_and_stays_away() -> None:
    marking = Marking(SEATS).away("s3").toggled("s1")
    round_ = Round(60.0, ((0, 1),), marking.results())
    assert (round_.had, round_.asked) == (3, 4)
    assert marks(marking.again()) == [Mark.HAD, Mark.HAD, Mark.AWAY, Mark.HAD, Mark.HAD]
    assert marks(marking.other_way()) == [Mark.MISSED, Mark.MISSED, Mark.AWAY, Mark.MISSED, Mark.MISSED]
    assert marks(marking.away("s3"))[2] is marks(marking.toggled("s3"))[2] is Mark.HAD


def test_what_was_heard_counts_until_somebody_marks_otherwise() -> None:
    late = one_heard("s2", landed=False, late_ms=310.0, up=3)
    there = one_heard("s4", landed=True, late_ms=-12.0)
    marking = Marking(SEATS).hear([late, there, one_heard("gone", landed=False)])
    assert marks(marking) == [Mark.HAD, Mark.MISSED, Mark.HAD, Mark.HAD, Mark.HAD]
    assert [result.heard for result in marking.results()] == [None, late, None, there, None]
    overruled = marking.toggled("s2").results()[1]
    assert overruled == Result("s2", Mark.HAD)
    assert marking.again().heard == {}


@pytest.mark.parametrize("mark", [Marking.toggled, Marking.away])
def test_a_seat_that_is_not_there_cannot_be_marked(mark: object) -> None:
    assert callable(mark)
    with pytest.raises(ValueError, match="no seat s9"):
        mark(Marking(SEATS), "s9")
