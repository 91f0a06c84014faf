"""Coverage factors and intervals: closed forms against scipy, numpy and their own limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from wasteledger.estimate.coverage import coverage_factor, lognormal_limits, sum_limits


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 8, 17, 30, 99, 100, 101, 250, 1000, 10**6])
@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.99])
def test_factor_is_the_quantile_of_the_t_distribution(degrees: int, coverage: float) -> None:
    assert coverage_factor(degrees, coverage) == pytest.approx(stats.t.ppf((1 + coverage) / 2, degrees), rel=1e-8)


def test_factor_without_limit_of_freedom_is_normal() -> None:
    assert coverage_factor(math.inf) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)


def test_a_broken_degree_of_freedom_counts_as_the_next_lower() -> None:
    assert coverage_factor(4.9) == coverage_factor(4)


@pytest.mark.parametrize(("degrees", "coverage"), [(0.5, 0.95), (0, 0.95), (math.nan, 0.95), (5, 0.0), (5, 1.0)])
def test_factor_refuses_what_has_none(degrees: float, coverage: float) -> None:
    with pytest.raises(ValueError, match=r"degree of freedom|coverage lies"):
        coverage_factor(degrees, coverage)


@pytest.mark.parametrize(("mean", "sd"), [(3.0, 3.0), (150.0, 49.7), (1000.0, 0.5)])
def test_lognormal_limits_are_quantiles_of_the_lognormal_with_these_moments(mean: float, sd: float) -> None:
    sigma = math.sqrt(math.log1p((sd / mean) ** 2))
    shape = stats.lognorm(sigma, scale=mean / math.sqrt(1 + (sd / mean) ** 2))
    assert (shape.mean(), shape.std()) == pytest.approx((mean, sd))

    lower, upper = lognormal_limits(mean, sd**2, coverage_factor())

    assert (shape.cdf(lower), shape.cdf(upper)) == pytest.approx((0.025, 0.975))


def test_a_narrow_lognormal_is_as_good_as_normal() -> None:
    assert lognormal_limits(1e6, 1.0, 1.96) == pytest.approx((1e6 - 1.96, 1e6 + 1.96), abs=1e-3)


def test_nothing_has_the_interval_from_nothing() -> None:
    assert lognormal_limits(0.0, 0.0, 1.96) == (0.0, 0.0)
    assert lognormal_limits(0.0, 4.0, 1.96) == (0.0, 3.92)


def test_moments_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="below nothing"):
        lognormal_limits(-1.0, 1.0, 1.96)


@given(st.floats(1e-3, 1e9), st.floats(0, 1e18), st.floats(1.9, 13))
def test_a_lognormal_interval_holds_its_mean_and_stays_above_nothing(mean: float, variance: float, k: float) -> None:
    lower, upper = lognormal_limits(mean, variance, k)

    assert 0 <= lower <= mean <= upper


def test_normal_parts_add_in_quadrature() -> None:
    assert sum_limits((7.0, 10.0, 13.0), (16.0, 20.0, 24.0)) == pytest.approx((25.0, 35.0))


def test_one_part_alone_keeps_its_limits() -> None:
    assert sum_limits((5.0, 5.0, 5.0), (1.0, 3.0, 9.0)) == pytest.approx((6.0, 14.0))
