"""The ladder over runs to the beat: with a simulated player, and its rows worked out by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.practice import playing
from tests.practice.playing import clean_share, play, ticks
from trainer.practice.climb import Climb, Played, climbed, height
from trainer.practice.events import Press, Said, SetTempo, TakeBack
from trainer.practice.ladder import Standing, Target
from trainer.practice.phases import Phase
from trainer.practice.tempo import FASTEST, SLOWEST


def tempos(*answers: tuple[int, int], start: float = 60, top: float = FASTEST) -> list[float]:
    """Return the tempo of each run after (landed, asked), the ladder's own tempo being played."""
    runs: list[Played] = []
    found = [start]
    for landed, asked in answers:
        runs.append(Played(found[-1], landed, asked))
        ladder = climbed(runs, top)
        assert ladder is not None
        found.append(ladder.tempo)
    return found


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        # Steps 1.16, 1.08, 1.04, 1.02; each turn goes on to the next. 60 x 1.16 = 69.6; 70 / 1.08 = 64.8.
        ([(8, 8), (7, 8)], [60, 70, 65]),
        ([(0, 8)], [60, 52]),
        # Of one change three runs in a row, of two changes two, from three on one.
        ([(1, 1), (1, 1), (1, 1)], [60, 60, 60, 70]),
        ([(1, 1), (1, 1), (0, 1)], [60, 60, 60, 52]),
        ([(2, 2), (2, 2)], [60, 60, 70]),
        ([(3, 3)], [60, 70]),
    ],
)
def test_it_rises_on_three_clean_changes_in_a_row(answers: list[tuple[int, int]], expected: list[float]) -> None:
    assert tempos(*answers) == expected


def test_the_target_is_held_and_not_passed_but_a_player_may_pass_it() -> None:
    assert tempos((8, 8), (8, 8), (8, 8), top=66) == [60, 66, 66, 66]
    ladder = climbed([Played(60, 8, 8), Played(90, 8, 8)], top=66)
    assert ladder is not None
    assert ladder.tempo == 90


def test_a_tempo_of_the_players_own_is_gone_on_from_and_breaks_a_row() -> None:
    ladder = climbed([Played(60, 1, 1), Played(60, 1, 1), Played(100, 1, 1)])
    assert ladder is not None
    assert (ladder.tempo, ladder.streak) == (100, 1)


@given(st.lists(st.tuples(st.floats(SLOWEST, FASTEST), st.integers(1, 9), st.integers(0, 9)), min_size=1))
def test_the_limits_hold_whatever_is_played(runs: list[tuple[float, int, int]]) -> None:
    ladder = climbed([Played(tempo, min(landed, asked), asked) for tempo, asked, landed in runs])
    assert ladder is not None
    assert SLOWEST <= ladder.tempo <= FASTEST


ANSWERS = st.tuples(
    st.integers(0, 3),  # landed, of three
    st.sampled_from([None, None, None, 0, 3]),  # said anew, the first answer taken back
    st.sampled_from([None, None, None, 48.0, 75.0]),  # a tempo of the player's own
    st.sampled_from(["as before", "as before", "none", "at 64"]),  # the target of the next run
)
TARGETS = {"none": None, "at 64": Target(64)}


@given(st.lists(ANSWERS, min_size=1, max_size=12))
def test_a_sitting_climbs_as_if_it_began_with_its_first_run_each_time(
    answers: list[tuple[int, int | None, float | None, str]],
) -> None:
    session = playing.asked()
    for number, (landed, instead, tempo, target) in enumerate(answers):
        session, _ = play(session, Said(50, landed))
        if instead is not None:
            session, _ = play(session, TakeBack(51), Said(52, instead))
        top = FASTEST if session.settings.target is None else session.settings.target.tempo
        ladder = climbed(session.played_to_the_beat, top)
        assert ladder is not None
        assert (session.phase, session.tempo) == (Phase.ENDED, ladder.tempo)
        if tempo is not None:
            session, _ = play(session, SetTempo(53, tempo))
        if target in TARGETS:
            session = replace(session, settings=replace(session.settings, target=TARGETS[target]))
        session, _ = play(session, Press(60 + number))
        session, _ = ticks(session, 21)


@given(st.lists(st.tuples(st.sampled_from([60.0, 62.0, 70.0]), st.integers(1, 4), st.booleans())), st.integers(0, 20))
def test_a_climb_is_gone_on_from(runs: list[tuple[float, int, bool]], at: int) -> None:
    every = [Played(tempo, asked if clean else asked - 1, asked) for tempo, asked, clean in runs]
    assert Climb(65).after(every[:at]).after(every[at:]) == Climb(65).after(every)
    assert Climb(65).after(every).runs == len(every)


@given(st.integers(1, 9), st.data())
def test_misses_are_spread_so_that_no_row_is_longer_than_it_must_be(asked: int, data: st.DataObject) -> None:
    landed = data.draw(st.integers(0, asked))
    tries = Played(60, landed, asked).tries
    assert (len(tries), sum(one.clean for one in tries)) == (asked, landed)
    misses = [-1, *(n for n, one in enumerate(tries) if not one.clean), asked]
    longest = max(after - before - 1 for before, after in pairwise(misses))
    assert longest <= -(-landed // max(asked - landed, 1))


def played(runs: int, good: float, seed: int, asked: int = 4) -> list[Played]:
    """Return runs of a player who is clean four times in five at `good`, at the ladder's tempo."""
    chance = random.Random(seed)
    found: list[Played] = []
    tempo = 50.0
    for _ in range(runs):
        landed = sum(chance.random() < clean_share(tempo, good, 12) for _ in range(asked))
        found.append(Played(tempo, landed, asked))
        ladder = climbed(found)
        assert ladder is not None
        tempo = ladder.tempo
    return found


@pytest.mark.parametrize("good", [60.0, 96.0, 140.0])
def test_a_simulated_player_is_found_within_the_uncertainty_about_as_often_as_it_says(good: float) -> None:
    found = [estimate for seed in range(40) if (estimate := height(tuple(played(30, good, seed))).estimate) is not None]
    assert len(found) == 40
    assert median(one.tempo for one in found) == pytest.approx(good, rel=0.06)
    inside = sum(one.low <= good <= one.high for one in found)
    # 80 % intervals: of 40, binomial, fewer than 24 would come about by chance once in some hundreds.
    assert inside >= 24


def test_before_the_ladder_has_turned_four_times_nothing_is_said() -> None:
    assert height(()).estimate is None
    assert height((Played(60, 8, 8), Played(70, 8, 8), Played(81, 3, 8))).estimate is None


def test_the_target_is_reached_on_one_day_and_holds_on_two() -> None:
    target = Target(90, in_a_row=5, days=2)
    below = (Played(88, 8, 8, day=1),)
    assert height(below, target).standing is Standing.BELOW
    reached = (*below, Played(90, 8, 8, day=1))
    assert height(reached, target).standing is Standing.REACHED
    assert height((*reached, Played(92, 5, 5, day=2)), target).standing is Standing.HOLDS
    # Five of nine cannot be known to have been in a row.
    assert height((*reached, Played(90, 5, 9, day=2)), target).standing is Standing.BELOW
    assert height(reached).standing is None
