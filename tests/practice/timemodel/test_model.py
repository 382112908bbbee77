"""The time model: against a dense reference, and with simulated players whose costs are known."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import fmean

import numpy as np
import pytest

from tests.practice.timemodel.player import CHANGES, COSTS, KIND, Player
from trainer.practice.curve import Interval
from trainer.practice.timemodel.blocks import EARLY, FEWEST, NEWEST, Block, block, past
from trainer.practice.timemodel.features import COEFFICIENTS, DOUBT, FAMILIAR, FEATURES, FIRST
from trainer.practice.timemodel.model import ENOUGH, Calibration, Cost, Known, TimeModel, learn
from trainer.practice.timemodel.weights import own_weights
from trainer.practice.timemodel.words import TELLINGS, Told, standing, told, trusted

NOTHING = (0.0,) * len(FEATURES)


def player(seed: int, **changes: float) -> Player:
    made = Player(random.Random(seed))
    made.costs = COSTS | changes
    return made


# Blocks


def test_a_block_draws_slips_in() -> None:
    times = [500.0, 510.0, 490.0, 505.0, 495.0, 500.0, 502.0, 498.0]
    clean, slipped = block(times, 1), block([*times[:-1], 5000.0], 1)
    assert clean.log_ms == pytest.approx(math.log(500), abs=0.003)
    assert slipped.log_ms == pytest.approx(clean.log_ms, abs=0.015)


def test_familiarity_is_the_mean_logarithm_of_the_numbers_of_the_tries() -> None:
    assert block([500.0] * 20, 41).familiar == pytest.approx(fmean(math.log2(number) for number in range(41, 61)))


SPLITS: tuple[tuple[int, list[tuple[int, int]]], ...] = (
    (FEWEST - 1, []),
    (FEWEST, [(FEWEST, 1)]),
    (EARLY + FEWEST - 1, [(EARLY, 1)]),
    (EARLY + FEWEST, [(EARLY, 1), (FEWEST, EARLY + 1)]),
    (500, [(EARLY, 1), (NEWEST, 500 - NEWEST + 1)]),
)


@pytest.mark.parametrize(("count", "blocks"), SPLITS)
def test_a_series_is_its_first_and_its_newest_tries(count: int, blocks: list[tuple[int, int]]) -> None:
    times = [300.0 + number for number in range(count)]
    found = past(KIND, times[:EARLY], times[-NEWEST:], count)
    expected = [block(times[first - 1 : first - 1 + tries], first) for tries, first in blocks]
    assert list(found.blocks if found else ()) == expected


# Against a reference


def dense(known: list[Known], share: float) -> tuple[list[float], float]:
    """Return the mean of the coefficients and the log evidence by NumPy, every block one observation.

    Blocks of one change have a common part: their covariance is diag(1/w) + share, in units of s^2. The posterior is
    Murphy's (Machine Learning: a Probabilistic Perspective, 7.70 to 7.73), the evidence the density of a multivariate
    t.
    """
    rows, y, owners, own = [], [], [], []
    for number, each in enumerate(known):
        for part in each.blocks:
            rows.append((1.0, *each.features, part.familiar))
            y.append(part.log_ms)
            owners.append(number)
            own.append(1 / part.weight)
    x, which = np.array(rows), np.array(owners)
    noise = np.diag(own) + share * (which[:, None] == which)
    left = np.array(y) - x @ np.array(FIRST)
    count, a0, b0 = len(y), 3.0, 3.0 * 0.15**2
    scatter = 0.15
    for _ in range(2):  # the second time with the scatter that the first found
        v0 = np.diag((np.array(DOUBT) / scatter) ** 2)
        vn = np.linalg.inv(np.linalg.inv(v0) + x.T @ np.linalg.solve(noise, x))
        wn = vn @ x.T @ np.linalg.solve(noise, left)
        bn = b0 + (left @ np.linalg.solve(noise, left) - wn @ np.linalg.inv(vn) @ wn) / 2
        scatter = math.sqrt(bn / (a0 + count / 2))
    free, covariance = 2 * a0, b0 / a0 * (noise + x @ v0 @ x.T)
    evidence = (
        math.lgamma((free + count) / 2)
        - math.lgamma(free / 2)
        - count / 2 * math.log(free * math.pi)
        - np.linalg.slogdet(covariance)[1] / 2
        - (free + count) / 2 * math.log1p(left @ np.linalg.solve(covariance, left) / free)
    )
    return list(wn + np.array(FIRST)), float(evidence)


@pytest.mark.parametrize(("seed", "changes"), [(1, 3), (2, 20), (3, 60)])
def test_a_change_with_a_part_of_its_own_is_the_dense_regression(seed: int, changes: int) -> None:
    model = player(seed).model(changes)
    found = {share: dense(list(model.known), share) for share in (0.0, 0.5, 1.0, 2.0, 4.0, 8.0)}
    best = max(evidence for _, evidence in found.values())
    weights = {share: math.exp(evidence - best) for share, (_, evidence) in found.items()}
    weights = {share: weight for share, weight in weights.items() if weight >= 0.01}
    total = sum(weights.values())
    for number, name in enumerate(COEFFICIENTS):
        mixed = sum(weight / total * found[share][0][number] for share, weight in weights.items())
        assert model.coefficient(name) == pytest.approx(mixed, rel=1e-6, abs=1e-9)


def test_a_change_left_out_is_as_if_it_had_never_been_played() -> None:
    model = player(4).model(25)
    held = 0
    for out in model.known:
        rest = learn(KIND, [known for known in model.known if known is not out])
        newest = out.blocks[-1]
        # The interval of a block of many tries, widened to one of so few: the same rest predicts it.
        parts = rest._parts((1.0, *out.features, newest.familiar), own=True, more=1 / newest.weight)
        middle, spread = parts[0][1], parts[0][2]
        assert spread > 0
        start = sum(a * b for a, b in zip((1.0, *out.features, newest.familiar), FIRST, strict=True))
        held += abs(newest.log_ms - start - middle) <= 1.35 * spread
    assert abs(model.calibration().held - held) <= 2  # one t distribution stands for the mixture here
    assert model.calibration().changes == 25


# What is taken to hold beforehand


def test_without_times_it_holds_what_was_taken_to_hold() -> None:
    model = learn(KIND, ())
    assert [model.coefficient(name) for name in COEFFICIENTS] == pytest.approx(FIRST)
    assert not model.enough
    assert told(model) == ()
    assert own_weights(model) is None
    assert model.predict(NOTHING, 1).middle == pytest.approx(700, rel=0.01)
    assert model.calibration() == Calibration(0, 0)


def test_what_was_not_timed_is_never_told() -> None:
    """A player who never lays a barre hears nothing of barres, however sure the first belief."""
    chance = player(5)
    barred = tuple(FEATURES).index("laid"), tuple(FEATURES).index("raised")
    plain = [each for each in CHANGES if not any(each[1][at] for at in barred)]
    model = learn(KIND, [chance.known(key, vector, 60) for key, vector in chance.chance.sample(plain, 80)])
    assert not model.cost({"laid": 1}).learned
    assert model.cost({"cross": 1}).learned
    assert model.coefficient("laid") == pytest.approx(FIRST[COEFFICIENTS.index("laid")], abs=0.01)


def test_from_few_changes_nothing_is_told() -> None:
    few, more = (player(6).model(count) for count in (ENOUGH - 1, ENOUGH))
    assert (few.enough, more.enough) == (False, True)
    assert told(few) == ()
    assert standing(few) == f"not enough yet: {ENOUGH - 1} changes timed one way and tried often enough, of {ENOUGH}"
    assert standing(more) == f"learned from {ENOUGH} changes"


def test_a_model_is_of_one_way_of_timing() -> None:
    with pytest.raises(ValueError, match="one way of timing"):
        learn(replace(KIND, change="am to c"), ())


# Known players


def test_known_costs_are_recovered_and_intervals_hold_as_often_as_they_say() -> None:
    held, errors = [], []
    for seed in range(20, 40):
        model = player(seed).model(80)
        for name, true in COSTS.items():
            found = model.cost({name: 1}).ms
            held.append(found.low <= model.usual_ms * math.expm1(true) <= found.high)
            errors.append(model.coefficient(name) - true)
    # 200 intervals, 80 % wanted: three standard errors of a binomial are 8.5 points.
    assert fmean(held) == pytest.approx(0.8, abs=0.085)
    assert abs(fmean(errors)) < 0.01
    assert math.sqrt(fmean(error**2 for error in errors)) < 0.04


def test_changes_never_played_are_predicted_and_intervals_hold_as_often_as_they_say() -> None:
    held, left_out, changes = [], 0, 0
    for seed in range(40, 60):
        chance = player(seed)
        model = chance.model(60)
        played = {known.change for known in model.known}
        for key, vector in chance.chance.sample([each for each in CHANGES if each[0] not in played], 20):
            later = chance.known(key, vector, EARLY + NEWEST).blocks[-1]
            found = model.predict(vector, round(2**later.familiar))
            held.append(found.low <= math.exp(later.log_ms) <= found.high)
        calibration = model.calibration()
        left_out, changes = left_out + calibration.held, changes + calibration.changes
    # 400 predictions and 1,200 changes left out: three standard errors are 6 and 3.5 points.
    assert fmean(held) == pytest.approx(0.8, abs=0.06)
    assert left_out / changes == pytest.approx(0.8, abs=0.035)


def test_slips_do_not_carry_it() -> None:
    def costs(slips: float) -> dict[str, float]:
        errors: dict[str, list[float]] = {name: [] for name in COSTS}
        for seed in range(60, 66):
            made = player(seed)
            made.slips = slips
            model = made.model(80)
            for name in COSTS:
                errors[name].append(model.coefficient(name) - COSTS[name])
        return {name: fmean(each) for name, each in errors.items()}

    none, many = costs(0.0), costs(0.1)
    # A tenth of all times doubled would carry plain means by 7 %, and unevenly; each cost moves by less than 2.5 %.
    assert max(abs(many[name] - none[name]) for name in COSTS) < 0.025


def test_what_is_told_is_true_of_the_player_and_stands_in_order() -> None:
    model = player(7, laid=0.35, cross=0.15, guide=-0.05).model(150)
    said = told(model)
    sizes = [abs(one.cost.ms.middle) for one in said]
    assert sizes == sorted(sizes, reverse=True)
    by_name = {one.telling.words: one for one in said}
    assert said[0].telling.words == "laying a barre"
    assert said[0].sentence.startswith("laying a barre adds about ")
    assert said[0].cost.ms.low <= model.usual_ms * math.expm1(0.35) <= said[0].cost.ms.high
    assert "saves about" in by_name["a guide finger, in place of one that crosses,"].sentence


def test_how_it_is_worded() -> None:
    cost = Cost(Interval(-119.6, -161.2, -80.4), learned=True)
    assert Told(TELLINGS[0], cost).sentence == "laying a barre saves about 120 ms (80 to 161)"
    assert Told(TELLINGS[0], Cost(Interval(1180.4, 900.0, 1500.0), learned=True)).amount == (
        "adds about 1,180 ms (900 to 1,500)"
    )
    assert trusted(Calibration(32, 41)) == "80 % intervals held 78 % of 41 changes left out"


def test_more_tries_make_the_same_change_quicker() -> None:
    model: TimeModel = player(9).model(60)
    vector = CHANGES[0][1]
    times = [model.predict(vector, tries).middle for tries in (1, 10, 100)]
    assert times == sorted(times, reverse=True)
    ten = model.predict(vector, 10)
    assert ten.low < ten.middle < ten.high
    assert Block(5, 6.0, 1.0).weight < Block(40, 6.0, 1.0).weight < 1
    assert model.coefficient(FAMILIAR) < 0
