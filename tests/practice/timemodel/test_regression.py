"""The regression, held against NumPy: least squares, the textbook's posterior, and the evidence by another way."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from trainer.hand.search.places import Floats
from trainer.practice.timemodel.regression import Posterior, Prior, Sums, posterior

SIZE = 5
SPREAD = (3.0, 0.5, 1.0, 2.0, 0.8)


@dataclass(frozen=True)
class Data:
    x: Floats
    y: Floats
    w: Floats

    @property
    def sums(self) -> Sums:
        return Sums.of(self.x.T.tolist(), self.y.tolist(), self.w.tolist())


def data(seed: int, count: int) -> Data:
    chance = np.random.default_rng(seed)
    x = np.column_stack([np.ones(count), chance.integers(0, 3, (count, SIZE - 1))]).astype(float)
    y = x @ chance.normal(0, 1, SIZE) + chance.normal(0, 0.7, count)
    return Data(x, y, chance.uniform(0.2, 1, count))


def found(given: Data, prior: Prior = Prior(SPREAD, 2.0, 0.5)) -> Posterior:  # noqa: B008  # a frozen value
    return posterior(prior, given.sums)


def test_without_a_prior_to_speak_of_it_is_weighted_least_squares() -> None:
    given = data(1, 40)
    root = np.sqrt(given.w)
    solution, (rss,), *_ = np.linalg.lstsq(given.x * root[:, None], given.y * root, rcond=None)
    ours = found(given, Prior((1e5,) * SIZE, 1e-9, 1e-9))
    assert ours.mean == pytest.approx(solution, rel=1e-5)
    inverse = np.linalg.inv(given.x.T * given.w @ given.x)
    for number in range(SIZE):
        unit = [float(number == column) for column in range(SIZE)]
        # Each coefficient's standard error, but for the degrees of freedom, which count all observations here.
        assert ours.line(unit)[1] == pytest.approx(math.sqrt(rss / 40 * inverse[number, number]), rel=1e-4)


@pytest.mark.parametrize(("seed", "count"), [(2, 3), (3, 12), (4, 80)])
def test_the_posterior_is_the_textbooks(seed: int, count: int) -> None:
    # Murphy, Machine Learning: a Probabilistic Perspective, equations 7.70 to 7.73, with w_N about 0.
    given = data(seed, count)
    v0 = np.diag(np.square(SPREAD))
    vn = np.linalg.inv(np.linalg.inv(v0) + given.x.T * given.w @ given.x)
    wn = vn @ (given.x.T * given.w @ given.y)
    bn = 0.5 + 0.5 * (given.y @ (given.w * given.y) - wn @ np.linalg.inv(vn) @ wn)
    ours = found(given)
    assert ours.mean == pytest.approx(wn, rel=1e-8)
    assert (ours.shape, ours.rate) == pytest.approx((2.0 + count / 2, bn))
    at = np.array([1.0, 2.0, 0.0, -1.0, 1.5])
    middle, scale = ours.line(at.tolist(), 0.3)
    assert middle == pytest.approx(at @ wn)
    assert scale == pytest.approx(math.sqrt(bn / ours.shape * (0.3 + at @ vn @ at)))  # 7.75


@pytest.mark.parametrize(("seed", "count"), [(2, 3), (3, 12), (4, 80)])
def test_the_evidence_is_the_density_of_the_data_itself(seed: int, count: int) -> None:
    # By another way: the data as one draw of a multivariate t (its density: Murphy 2.5.3).
    given = data(seed, count)
    covariance = 0.5 / 2.0 * (np.diag(1 / given.w) + given.x * np.square(SPREAD) @ given.x.T)
    free = 4.0
    quadratic = given.y @ np.linalg.solve(covariance, given.y)
    log_density = (
        math.lgamma((free + count) / 2)
        - math.lgamma(free / 2)
        - count / 2 * math.log(free * math.pi)
        - np.linalg.slogdet(covariance)[1] / 2
        - (free + count) / 2 * math.log1p(quadratic / free)
    )
    assert found(given).evidence == pytest.approx(log_density, rel=1e-8)


def test_sums_of_parts_are_the_sums_of_the_whole() -> None:
    given = data(5, 30)
    front, back = (Data(given.x[part], given.y[part], given.w[part]) for part in (slice(20), slice(20, 30)))
    for made in (front.sums.plus(back.sums), given.sums.plus(back.sums, -1.0).plus(back.sums)):
        ours = posterior(Prior(SPREAD, 2.0, 0.5), made)
        assert ours.mean == pytest.approx(found(given).mean)
        assert ours.evidence == pytest.approx(found(given).evidence)
    assert posterior(Prior(SPREAD, 2.0, 0.5), given.sums.plus(back.sums, -1.0)).mean == pytest.approx(found(front).mean)


def test_with_no_data_the_prior_stands() -> None:
    ours = posterior(Prior(SPREAD, 2.0, 0.5), Sums.of([()] * SIZE, (), ()))
    assert ours.mean == (0.0,) * SIZE
    assert ours.line([0.0, 1.0, 0.0, 0.0, 0.0]) == pytest.approx((0.0, math.sqrt(0.25) * 0.5))
    assert ours.evidence == pytest.approx(0.0)
