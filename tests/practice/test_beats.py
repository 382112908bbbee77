"""Lateness, gap and evenness beat by beat, and where it breaks: by hand, against published tests, with chance drawn."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.fretboard.text import parse_shape
from trainer.practice.beats import Due, Place, by_beat, number, of_changes, of_session, places
from trainer.practice.breaking import LATER_MS, Break, Way, breaks, more_often, rank_sum
from trainer.practice.course import whole
from trainer.practice.drill import Drill, Step
from trainer.practice.effects import StartBeat
from trainer.practice.events import Beat, Heard, Press, TakeBack
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode
from trainer.practice.record import Texture
from trainer.practice.session import advance, begin

SHAPES = ("x 3/3 2/2 0 1/1 0", "0 2/2 2/3 0 0 0", "3/2 2/1 0 0 0 3/3", "x 0 2/2 2/3 1/1 0")
TWO_A_BAR = Drill("Two a bar", tuple(Step(parse_shape(text), beats=Fraction(2)) for text in SHAPES))


def due(
    bar: int, beat: int, late_ms: float | None = 0.0, *, clean: bool | None = True, gap: float | None = None
) -> Due:
    return Due(Place(bar, Fraction(beat)), late_ms is not None, late_ms, gap, clean)


def rounds(*late_ms: tuple[float | None, ...]) -> tuple[Due, ...]:
    """Return rounds of two bars with a change on beats 1 and 3 of each."""
    at = ((1, 1), (1, 3), (2, 1), (2, 3))
    return tuple(due(*place, late) for one in late_ms for place, late in zip(at, one, strict=True))


def test_shapes_lie_where_the_drill_writes_them() -> None:
    assert places(TWO_A_BAR) == (
        *(Place(1, Fraction(1)), Place(1, Fraction(3))),
        *(Place(2, Fraction(1)), Place(2, Fraction(3))),
    )
    steps = tuple(replace(step, beats=Fraction(3, 2)) for step in TWO_A_BAR.steps)
    assert [(one.bar, number(one.beat)) for one in places(replace(TWO_A_BAR, steps=steps, meter=(3, 4)))] == [
        *((1, "1"), (1, "2.5"), (2, "1"), (2, "2.5"))
    ]


def test_each_beat_has_its_median_its_spread_and_what_was_said_of_it() -> None:
    dues = [
        *(due(1, 1, 10, gap=40), due(1, 3, 50, clean=False, gap=-10), due(2, 1, 20, gap=60)),
        *(due(2, 3, 60, clean=None), due(1, 1, 60), due(1, 3, None, clean=None), due(2, 1, 30, clean=None)),
    ]
    found = by_beat(dues)
    one, three = found.beats
    assert (one.beat, one.changes, one.landed, one.late_ms, one.late_spread_ms) == (Fraction(1), 4, 4, 25, 10)
    assert (one.gap_ms, one.clean, one.answered) == (50, 3, 3)
    assert (three.changes, three.landed, three.late_ms, three.late_spread_ms) == (3, 2, 55, None)
    assert (three.gap_ms, three.clean, three.answered) == (-10, 0, 1)
    # Intervals less the written ones: +40, -30, +40, 0; the missed change leaves no interval on either side of it.
    assert found.uneven_ms == 35
    assert (one.uneven_ms, three.uneven_ms) == (None, None)
    assert three.words == "Beat 3: 3 changes, 2 landed, 55 ms late, gap -10 ms, clean 0 of 1."
    assert found.words == "Against the beat: beat 1 +25 ms, beat 3 +55 ms, even to 35 ms."


def test_a_player_who_is_late_by_the_same_each_time_is_even() -> None:
    assert by_beat(rounds((80, 80, 80, 80))).uneven_ms == 0
    assert by_beat(rounds((0, 80, 0, 80), (0, 80, 0, 80))).uneven_ms == 80


def test_without_a_time_against_the_beat_nothing_is_told() -> None:
    assert by_beat([]).beats == by_beat([due(1, 1, None)]).beats == ()
    assert by_beat([due(1, 1, None)]).words == ""


def test_a_place_that_is_late_every_time_is_named_with_its_bar() -> None:
    found = breaks((rounds(*[(5, 10, 0, 95)] * 3, (0, 12, 4, 90)),))
    assert found is not None
    assert (found.way, found.bar, found.beat, found.changes) == (Way.LATE, 2, Fraction(3), 4)
    assert found.words == "Breaks at bar 2, beat 3: 90 ms later than elsewhere (4 changes)."


def test_a_beat_that_is_late_in_every_bar_is_named_without_one() -> None:
    found = breaks((rounds(*[(5, 91, 0, 95), (2, 99, 4, 90)] * 2),))
    assert found is not None
    assert (found.bar, found.beat, found.changes) == (None, Fraction(3), 8)
    assert found.words.startswith("Breaks at beat 3: ")


def test_runs_at_different_tempi_are_put_together_by_their_own_medians() -> None:
    slow, fast = rounds(*[(5, 10, 0, 95)] * 2), rounds(*[(125, 130, 120, 215)] * 2)
    found = breaks((slow, fast))
    assert found is not None
    assert (found.bar, found.beat) == (2, Fraction(3))
    assert found.later_ms == pytest.approx(90)
    assert breaks((slow,)) is None  # twice late may be chance


def test_what_is_missed_or_unclean_stands_out_too() -> None:
    run = tuple(replace(one, clean=one.place != Place(2, Fraction(1))) for one in rounds(*[(0, 1, 2, 3)] * 4))
    assert breaks((run,)) == Break(Way.FAILED, 2, Fraction(1), 4, None, 4)
    missed = tuple(replace(one, landed=False, clean=None, late_ms=None) if one.clean is False else one for one in run)
    found = breaks((missed,))
    assert found is not None
    assert found.words == "Breaks at bar 2, beat 1: 4 of 4 missed or unclean."


def test_a_figure_is_never_held_against_what_is_struck_together() -> None:
    run = tuple(replace(one, figure=one.place == Place(2, Fraction(3))) for one in rounds(*[(0, 3, 5, 95)] * 6))
    assert breaks((run,)) is None
    assert breaks((tuple(replace(one, figure=False) for one in run),)) is not None


def test_a_small_lateness_is_no_break_however_sure_it_is() -> None:
    assert breaks((rounds(*[(0, 0, 0, LATER_MS - 1)] * 20),)) is None


def test_an_even_player_breaks_nowhere_in_nineteen_runs_of_twenty() -> None:
    chance, runs, found = random.Random(7), 600, 0
    for _ in range(runs):
        played = rounds(*[tuple(chance.gauss(10, 40) for _ in range(4)) for _ in range(4)])
        found += breaks((tuple(replace(one, clean=chance.random() < 0.8) for one in played),)) is not None
    assert found / runs <= 0.05


@pytest.mark.parametrize(
    ("first", "second", "critical"),
    # One-sided 5 %: the largest count of pairs the wrong way round that is still significant (Mann and Whitney's
    # statistic; tables in every textbook, from memory).
    [(4, 4, 1), (5, 5, 4), (6, 6, 7), (8, 8, 15), (5, 8, 8)],
)
def test_the_rank_sum_test_has_the_critical_values_of_the_tables(first: int, second: int, critical: int) -> None:
    def wrong_way(pairs: int) -> float:
        """Return the chance where so many pairs are the wrong way round."""
        ranks = next(one for one in combinations(range(first + second), first) if _below(one, second) == pairs)
        others = [rank for rank in range(first + second) if rank not in ranks]
        return rank_sum(ranks, others)

    assert wrong_way(critical) <= 0.05 < wrong_way(critical + 1)


def _below(ranks: tuple[int, ...], second: int) -> int:
    """Return in how many pairs one of `ranks` lies below one of the others."""
    first = len(ranks)
    return first * second + first * (first - 1) // 2 - sum(ranks)


@given(st.permutations(range(9)), st.integers(3, 6))
def test_the_approximation_is_close_to_every_order_counted(every: list[int], first: int) -> None:
    ranks = tuple(sorted(every[:first]))
    orders = list(combinations(range(9), first))
    exact = sum(_below(one, 9 - first) <= _below(ranks, 9 - first) for one in orders) / len(orders)
    assert rank_sum(every[:first], every[first:]) == pytest.approx(exact, abs=0.02)


def test_fishers_lady_tasting_tea() -> None:
    # The Design of Experiments, 1935: four of eight cups, all right by chance once in 70, three or more 17 in 70.
    assert more_often(4, 4, 0, 4) == pytest.approx(1 / 70)
    assert more_often(3, 4, 1, 4) == pytest.approx(17 / 70)
    assert more_often(0, 4, 0, 4) == 1


def test_heard_changes_fall_where_they_lead_to() -> None:
    struck = HeardChange(0, 0, 1, True, Texture.BLOCK, 1.0, landed_s=2.0, lateness_ms=12.0, clean=True)
    figure = replace(struck, index=1, before=1, after=2, texture=Texture.FIGURE, lateness_ms=None, delay_ms=30.0)
    stray = replace(struck, index=2, expected=False)
    assert of_changes(TWO_A_BAR, (struck, figure, stray)) == (
        Due(Place(1, Fraction(3)), True, 12.0, None, True),
        Due(Place(2, Fraction(1)), True, 30.0, None, True, figure=True),
    )


def test_runs_to_the_beat_know_what_did_not_come() -> None:
    session = begin(whole(TWO_A_BAR, 1), Mode.PACED, 60)
    session, _ = advance(session, Press(0))
    clock = session.clock
    assert isinstance(clock, StartBeat)
    for tick in range(15):
        session, _ = advance(session, Beat(tick, clock.clock))
        if tick in {6, 8, 12}:  # four beats are counted; the third change does not come
            leg = tick // 2 - 3
            change = HeardChange(
                leg, leg, (leg + 1) % 4, True, Texture.BLOCK, tick - 1.0, landed_s=tick, lateness_ms=40.0, clean=True
            )
            session, _ = advance(session, Heard(tick + 0.1, change))
    session, _ = advance(session, Beat(15, clock.clock))
    assert of_session(TWO_A_BAR, session) == ((
        *(due(1, 3, 40), due(2, 1, 40), due(2, 3, None, clean=None), due(1, 1, 40)),
    ),)  # fmt: skip
    assert of_session(TWO_A_BAR, advance(session, TakeBack(16))[0]) == ()
