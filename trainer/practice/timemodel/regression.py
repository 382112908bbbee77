"""Bayesian linear regression with a normal-inverse-gamma prior, in closed form, from sums that can be added up.

y = Xb + e, the errors normal with variance s^2/w, w known; b given s^2 normal about the prior's mean with variance s^2
times the square of `spread`, s^2 inverse gamma. The posterior has the same form, what is asked of it is Student's t,
and the evidence is known too (Murphy, Machine Learning: a Probabilistic Perspective, 2012, 7.6.3; Bishop, Pattern
Recognition and Machine Learning, 2006, 3.3, with the noise known). Everything here is about the prior's mean: y stands
for what that leaves over. A dozen coefficients need no library.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import mul
from typing import TypeAlias

Numbers: TypeAlias = tuple[float, ...]
Matrix: TypeAlias = tuple[Numbers, ...]
"""Row by row, of a symmetric or lower triangular matrix the lower half only: row i has i + 1 numbers."""


@dataclass(frozen=True, slots=True)
class Prior:
    """What is taken to hold before anything was seen."""

    spread: Numbers
    """How far each coefficient may be off, in units of s: standard deviations."""
    shape: float
    """Of the inverse gamma distribution of s^2 …"""
    rate: float
    """… and its rate."""


@dataclass(frozen=True, slots=True)
class Sums:
    """All that the regression takes from the data."""

    squares: Matrix
    """X'WX."""
    products: Numbers
    """X'Wy."""
    total: float
    """y'Wy."""
    count: float
    """How many observations."""
    log_weight: float
    """The sum of the logarithms of w."""

    @classmethod
    def of(cls, columns: Sequence[Sequence[float]], y: Sequence[float], weights: Sequence[float]) -> Sums:
        """Return the sums over observations: `columns` of X, one for each coefficient, all as long as `y`."""
        weighted = [list(map(mul, weights, column)) for column in columns]
        squares = tuple(
            tuple(sum(map(mul, own, other)) for other in columns[: row + 1]) for row, own in enumerate(weighted)
        )
        products = tuple(sum(map(mul, own, y)) for own in weighted)
        total = sum(weight * value * value for weight, value in zip(weights, y, strict=True))
        return cls(squares, products, total, len(y), sum(map(math.log, weights)))

    def plus(self, other: Sums, sign: float = 1.0) -> Sums:
        """Return the sums over both sets of observations; with `sign` -1 over those of this one without the others."""
        return Sums(
            tuple(
                tuple(own + sign * more for own, more in zip(row, rest, strict=True))
                for row, rest in zip(self.squares, other.squares, strict=True)
            ),
            tuple(own + sign * more for own, more in zip(self.products, other.products, strict=True)),
            self.total + sign * other.total,
            self.count + sign * other.count,
            self.log_weight + sign * other.log_weight,
        )


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known once the data was seen."""

    mean: Numbers
    """Of the coefficients, about the prior's mean."""
    factor: Matrix
    """L of the precision LL', in units of 1/s^2."""
    shape: float
    """Of the inverse gamma distribution of s^2 …"""
    rate: float
    """… and its rate."""
    evidence: float
    """Natural logarithm of how likely the data was by the prior."""

    @property
    def free(self) -> float:
        """Degrees of freedom of whatever is asked."""
        return 2 * self.shape

    def line(self, at: Sequence[float], more: float = 0.0) -> tuple[float, float]:
        """Return middle and scale of `at` b, Student's t; of a value there where it varies by `more` s^2 itself."""
        half = _forward(self.factor, at)
        variance = sum(map(mul, half, half)) + more
        return sum(map(mul, at, self.mean)), math.sqrt(self.rate / self.shape * variance)


def posterior(prior: Prior, sums: Sums) -> Posterior:
    """Return what the data says."""
    precision = [[*row[:-1], row[-1] + 1 / spread**2] for row, spread in zip(sums.squares, prior.spread, strict=True)]
    factor = _cholesky(precision)
    half = _forward(factor, sums.products)
    shape = prior.shape + sums.count / 2
    # Rounding must not take more than all of what is left over.
    rate = prior.rate + max(sums.total - sum(map(mul, half, half)), 0.0) / 2
    evidence = (
        (sums.log_weight - sums.count * math.log(2 * math.pi)) / 2
        - sum(map(math.log, prior.spread))
        - sum(math.log(row[-1]) for row in factor)
        + prior.shape * math.log(prior.rate)
        - shape * math.log(rate)
        + math.lgamma(shape)
        - math.lgamma(prior.shape)
    )
    return Posterior(_backward(factor, half), factor, shape, rate, evidence)


def _cholesky(matrix: Sequence[Sequence[float]]) -> Matrix:
    rows: list[list[float]] = []
    for number, given in enumerate(matrix):
        row: list[float] = []
        for column in range(number):
            other = rows[column]
            row.append((given[column] - sum(map(mul, row, other))) / other[column])
        row.append(math.sqrt(given[number] - sum(map(mul, row, row))))
        rows.append(row)
    return tuple(map(tuple, rows))


def _forward(factor: Matrix, right: Sequence[float]) -> Numbers:
    """Return the solution x of Lx = `right`."""
    found: list[float] = []
    for row, value in zip(factor, right, strict=True):
        found.append((value - sum(map(mul, row, found))) / row[-1])
    return tuple(found)


def _backward(factor: Matrix, right: Sequence[float]) -> Numbers:
    """Return the solution x of L'x = `right`."""
    left = list(right)
    for number in range(len(factor) - 1, -1, -1):
        row = factor[number]
        left[number] /= row[-1]
        for column in range(number):
            left[column] -= row[column] * left[number]
    return tuple(left)
