"""Student's t, held against the published table, and mixtures of it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.timemodel.student import Part, below, cdf, incomplete_beta, quantile

# Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.10: percentage points of the t-distribution.
TABLE = (
    (1, 0.90, 3.078),
    (1, 0.975, 12.706),
    (2, 0.95, 2.920),
    (5, 0.90, 1.476),
    (5, 0.995, 4.032),
    (10, 0.95, 1.812),
    (30, 0.975, 2.042),
    (120, 0.90, 1.289),
)


@pytest.mark.parametrize(("free", "share", "t"), TABLE)
def test_the_published_table(free: int, share: float, t: float) -> None:
    assert quantile(share, [(1.0, 0.0, 1.0, free)]) == pytest.approx(t, abs=0.0005)
    assert cdf(t, free) == pytest.approx(share, abs=0.0001)
    assert cdf(-t, free) == pytest.approx(1 - share, abs=0.0001)


def test_with_many_degrees_of_freedom_it_is_normal() -> None:
    for value in (-2.0, -0.3, 0.0, 1.2816, 3.0):
        assert cdf(value, 1e6) == pytest.approx((1 + math.erf(value / math.sqrt(2))) / 2, abs=1e-6)


def test_the_incomplete_beta_function_where_it_has_a_simple_form() -> None:
    # I_x(a, 1) = x^a and I_x(1, b) = 1 - (1 - x)^b, from its integral.
    for x in (0.0, 0.01, 0.3, 0.5, 0.9, 1.0):
        assert incomplete_beta(2.5, 1.0, x) == pytest.approx(x**2.5)
        assert incomplete_beta(1.0, 4.0, x) == pytest.approx(1 - (1 - x) ** 4)


parts = st.lists(
    st.tuples(st.floats(0.1, 1), st.floats(-50, 50), st.floats(0.01, 10), st.floats(2, 200)), min_size=1, max_size=4
)


@given(parts, st.sampled_from([0.1, 0.5, 0.9]))
def test_the_quantile_of_a_mixture_is_where_so_much_lies_below(raw: list[Part], share: float) -> None:
    total = sum(weight for weight, *_ in raw)
    mixture = [(weight / total, *rest) for weight, *rest in raw]
    assert below(quantile(share, mixture), mixture) == pytest.approx(share, abs=1e-6)  # type: ignore[arg-type]  # unpacking loses the length
