"""The tempo ladder, held against Levitt's convergence points with seeded players whose true tempo is known."""

from __future__ import annotations

import math
import random
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.practice.playing import clean_share
from trainer.practice.ladder import (
    FEWEST_TURNS,
    Ladder,
    Rule,
    Standing,
    Target,
    Try,
    estimate,
    from_tries,
    standing,
    start,
)
from trainer.practice.tempo import FASTEST, SLOWEST

STEEPNESS = math.log(9) / math.log(1.2)


def played(ladder: Ladder, good: float, tries: int, chance: random.Random) -> Ladder:
    """Return the ladder after `tries` of a player who is clean four times in five at tempo `good`."""
    for _ in range(tries):
        ladder = ladder.after(chance.random() < clean_share(ladder.tempo, good, STEEPNESS))
    return ladder


def answered(ladder: Ladder, answers: str) -> Ladder:
    for answer in answers:
        ladder = ladder.after(answer == "+")
    return ladder


# The rule


@pytest.mark.parametrize(("clean", "share"), [(1, 0.5), (2, 0.707), (3, 0.794), (4, 0.841)])
def test_the_rule_balances_at_levitts_points(clean: int, share: float) -> None:
    # Levitt 1971, table I (from memory); p^n = 1/2 gives the same.
    assert Rule(clean).converges_at == pytest.approx(share, abs=0.0005)


@pytest.mark.parametrize(
    ("answers", "tempo"),
    [
        ("", 60),
        ("++", 60),
        ("+++", 70),  # 60 x 1.16
        ("+++++", 70),
        ("++++++", 81),  # x 1.16 again: it has not turned
        ("+++-", 65),  # turned: 70 / 1.08
        ("+++--", 60),
        ("+++--+++", 62),  # turned again: 60 x 1.04
        ("++-", 52),  # 60 / 1.16
        ("-----", 29),
        ("+++---", 52),  # the third step the same way widens again: 60 / 1.16
    ],
)
def test_three_clean_are_faster_one_unclean_is_slower_and_steps_shrink(answers: str, tempo: float) -> None:
    assert answered(start(60), answers).tempo == tempo


@given(st.text("+-", max_size=80), st.floats(SLOWEST, FASTEST), st.floats(SLOWEST, FASTEST))
def test_a_ladder_stays_on_whole_rungs_within_its_limits(answers: str, tempo: float, top: float) -> None:
    ladder = start(tempo, math.ceil(top))
    for answer in answers:
        before, ladder = ladder, ladder.after(answer == "+")
        assert SLOWEST <= ladder.tempo <= math.ceil(top)
        assert ladder.tempo.is_integer()
        if answer == "-":
            assert ladder.tempo < before.tempo or before.tempo == SLOWEST
    assert [one.clean for one in ladder.tries] == [answer == "+" for answer in answers]
    assert len(ladder.turns) <= len(answers)


# Convergence, against the outside value


@pytest.mark.parametrize("clean", [2, 3])
def test_a_simulated_player_is_led_to_levitts_share(clean: int) -> None:
    chance = random.Random(7)
    for good in (52.0, 96.0, 140.0):
        ladder = played(start(40, rule=Rule(clean)), good, 12_000, chance)
        settled = ladder.tries[2_000:]
        middle = math.exp(fmean(math.log(one.tempo) for one in settled))
        # The player's own curve, read at the tempo the ladder keeps to. Rungs of a whole beat leave a little bias.
        assert clean_share(middle, good, STEEPNESS) == pytest.approx(Rule(clean).converges_at, abs=0.02)
        # 10,000 tries that were not independent: three standard errors are about 0.012.
        assert fmean(one.clean for one in settled) == pytest.approx(Rule(clean).converges_at, abs=0.02)


# The estimate


def test_the_estimate_is_right_on_average_and_its_interval_holds_as_often_as_it_says() -> None:
    chance = random.Random(3)
    held = total = 0
    errors = []
    for good in (48.0, 76.0, 120.0):
        for _ in range(50):
            found = estimate(played(start(44), good, 60, chance))
            if found is None:
                continue
            total += 1
            held += found.low <= good <= found.high
            errors.append(math.log(found.tempo / good))
    assert total >= 140
    assert fmean(errors) == pytest.approx(0, abs=0.02)
    # 80 % of about 150: three standard errors are 10 points.
    assert held / total == pytest.approx(0.8, abs=0.1)


def test_there_is_no_estimate_before_the_ladder_has_turned_often_enough() -> None:
    never = answered(start(60), "+++" * 20)
    assert never.turns == ()
    assert estimate(never) is None
    turned = answered(start(60), "+++-" * 2 + "+++-")
    assert len(turned.turns) >= FEWEST_TURNS
    found = estimate(turned)
    assert found is not None
    assert found.low < found.tempo < found.high
    assert found.words == f"clean four times in five at {found.tempo:.0f} ({found.low:.0f} to {found.high:.0f})"


def test_more_tries_narrow_the_interval_and_none_leave_it_open() -> None:
    few = [Try(80, True), Try(90, False)]
    some, many = from_tries(few * 4), from_tries(few * 40)
    assert many.high / many.low < some.high / some.low < FASTEST / SLOWEST
    nothing = from_tries([])
    assert (nothing.low, nothing.high) == pytest.approx((25.6, 187.2), rel=0.02)  # the middle 80 % of all tempi
    only_clean = from_tries([Try(80, True)] * 40)
    assert only_clean.low > 75
    assert only_clean.high > 200


# Reached and held

GOAL = Target(80, in_a_row=3, days=2)


def days(*answers: str, tempo: float = 80) -> list[Try]:
    return [Try(tempo, answer == "+", day) for day, said in enumerate(answers) for answer in said]


@pytest.mark.parametrize(
    ("tries", "expected"),
    [
        ([], Standing.BELOW),
        (days("++"), Standing.BELOW),
        (days("++-++"), Standing.BELOW),
        (days("-+++"), Standing.REACHED),
        (days("++++++++"), Standing.REACHED),
        (days("+++", "+++"), Standing.HOLDS),
        (days("+++", "", "-+++-"), Standing.HOLDS),
        (days("+++", "+++", "-"), Standing.HOLDS),
        (days("+++", "+++", "++-"), Standing.BELOW),
        (days("+++", "+++", "++-", "+++"), Standing.REACHED),
        (days("+++", "+++", tempo=79), Standing.BELOW),
        (days("+++", "+++", tempo=90), Standing.HOLDS),
    ],
)
def test_a_target_is_reached_in_a_row_and_held_on_several_days(tries: list[Try], expected: Standing) -> None:
    assert standing(tries, GOAL) is expected


def test_a_ladder_ends_in_holding_its_target() -> None:
    ladder = start(60, top=80)
    for day in range(3):
        for _ in range(12):
            ladder = ladder.after(clean=True, day=day)
    assert ladder.tempo == 80
    assert standing(ladder.tries, Target(80)) is Standing.HOLDS
