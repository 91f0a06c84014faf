"""Coverage factors and intervals: closed forms against scipy, numpy and their own limits."""

from __future__ import annotations

import math

import numpy as np
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

    lower, upper = lognormal_limits(mean, [sd**2], coverage_factor())

    assert (shape.cdf(lower), shape.cdf(upper)) == pytest.approx((0.025, 0.975))


def test_a_narrow_lognormal_is_as_good_as_normal() -> None:
    assert lognormal_limits(1e6, [0.75, 0.25], 1.96) == pytest.approx((1e6 - 1.96, 1e6 + 1.96), abs=1e-3)


def test_nothing_has_the_interval_from_nothing() -> None:
    assert lognormal_limits(0.0, [], 1.96) == (0.0, 0.0)
    assert lognormal_limits(0.0, [1.0, 3.0], 1.96) == (0.0, 3.92)


def test_moments_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="below nothing"):
        lognormal_limits(-1.0, [1.0], 1.96)
    with pytest.raises(ValueError, match="below nothing"):
        lognormal_limits(1.0, [1.0, -0.5], 1.96)


@pytest.mark.parametrize("mean", [3.0, 1e6])
def test_two_causes_give_the_interval_of_their_product(mean: float) -> None:
    """A factor of CV 1 times a factor of CV 0.5: relative variance (1 + 1)(1 + 0.25) - 1, and still log-normal."""
    both = lognormal_limits(mean, [mean**2, (0.5 * mean) ** 2], 1.96)

    assert both == pytest.approx(lognormal_limits(mean, [1.5 * mean**2], 1.96))


@given(st.floats(1e-3, 1e9), st.lists(st.floats(0, 1e18), max_size=3), st.floats(1.9, 13))
def test_a_lognormal_interval_holds_its_mean_and_stays_above_nothing(
    mean: float, variances: list[float], k: float
) -> None:
    lower, upper = lognormal_limits(mean, variances, k)

    assert 0 <= lower <= mean <= upper


@pytest.mark.parametrize("normal_sd", [0.5, 30.0, 300.0, 1000.0, 3000.0, 100_000.0])
@pytest.mark.parametrize(("mean", "sd"), [(1000.0, 100.0), (1000.0, 1000.0), (1000.0, 5000.0)])
def test_the_interval_of_a_sum_is_that_of_a_simulation(normal_sd: float, mean: float, sd: float) -> None:
    rng = np.random.default_rng(3)
    log_variance = math.log1p((sd / mean) ** 2)
    estimated = rng.lognormal(math.log(mean) - log_variance / 2, math.sqrt(log_variance), 1_000_000)
    total = rng.normal(5000.0, normal_sd, estimated.size) + estimated

    lower, upper = sum_limits(5000.0, normal_sd, *lognormal_limits(mean, [sd**2], coverage_factor()))

    # Six standard errors of a simulated share of one fortieth.
    assert np.mean(total < lower) == pytest.approx(0.025, abs=0.001)
    assert np.mean(total > upper) == pytest.approx(0.025, abs=0.001)


def test_one_part_alone_keeps_its_limits() -> None:
    k = coverage_factor()

    assert sum_limits(5.0, 0.0, 1.0, 9.0) == (6.0, 14.0)
    assert sum_limits(5.0, 2.0, 0.0, 0.0) == pytest.approx((5 - 2 * k, 5 + 2 * k))
    assert sum_limits(5e6, 1e4, 7e5, 7e5 * (1 + 1e-12)) == pytest.approx((5.7e6 - k * 1e4, 5.7e6 + k * 1e4), abs=0.2)


def test_a_part_of_mean_nothing_widens_upward_only() -> None:
    assert sum_limits(5.0, 2.0, 0.0, 3.0) == pytest.approx((5 - 3.92, 5 + math.hypot(3, 3.92)), abs=1e-3)


@pytest.mark.parametrize("wrong", [(0.0, -1.0, 1.0, 2.0), (0.0, 1.0, -1.0, 2.0), (0.0, 1.0, 2.0, 1.0)])
def test_limits_of_no_mass_are_refused(wrong: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="limits of a mass"):
        sum_limits(*wrong)
