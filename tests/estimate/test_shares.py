from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special, stats

from wasteledger.estimate.shares import Beta, digamma, normal_equivalent_of_skew, tetragamma, trigamma

PLACES = [0.05, 0.3, 1.0, 1.306, 2.599, 5.056, 9.99, 10.0, 23.287, 144.5, 5000.0]


@pytest.mark.parametrize("x", PLACES)
def test_derivatives_of_log_gamma_are_those_of_scipy(x: float) -> None:
    assert digamma(x) == pytest.approx(float(special.digamma(x)), rel=1e-11, abs=1e-12)
    assert trigamma(x) == pytest.approx(float(special.polygamma(1, x)), rel=1e-11)
    assert tetragamma(x) == pytest.approx(float(special.polygamma(2, x)), rel=1e-10)


@pytest.mark.parametrize(("mean", "sd"), [(0.5, 0.15), (0.23, 0.12), (0.93, 0.05), (0.10, 0.08), (0.35, 0.20)])
def test_moments_of_a_share_and_its_logarithm(mean: float, sd: float) -> None:
    share = Beta(mean, sd)
    drawn = stats.beta(*share.shapes)
    draws = drawn.rvs(400_000, random_state=np.random.default_rng(5))
    logs, rest = np.log(draws), np.log1p(-draws)

    assert (drawn.mean(), drawn.std()) == (pytest.approx(mean), pytest.approx(sd))
    assert share.second == pytest.approx(drawn.moment(2))
    assert share.rest_second == pytest.approx(np.mean((1 - draws) ** 2), rel=0.01)
    found = share.logs
    assert found.mean == pytest.approx(logs.mean(), abs=5 * logs.std() / math.sqrt(draws.size))
    assert found.variance == pytest.approx(logs.var(), rel=0.02)
    assert found.third == pytest.approx(np.mean((logs - logs.mean()) ** 3), rel=0.06)
    assert found.rest_mean == pytest.approx(rest.mean(), abs=5 * rest.std() / math.sqrt(draws.size))
    assert found.rest_variance == pytest.approx(rest.var(), rel=0.02)
    assert found.rest_third == pytest.approx(np.mean((rest - rest.mean()) ** 3), rel=0.06)
    assert found.covariance == pytest.approx(np.cov(logs, rest)[0][1], rel=0.03)


def test_a_share_that_is_known_exactly() -> None:
    found = Beta(0.68, 0.0).logs

    assert found.mean == math.log(0.68)
    assert found.rest_mean == pytest.approx(math.log(0.32))
    assert found.variance == found.rest_variance == found.covariance == found.third == 0


@pytest.mark.parametrize("skewness", [-1.0, -0.5, 0.3, 0.7, 1.0])
def test_a_skew_deviate_is_as_unlikely_as_its_normal_one(skewness: float) -> None:
    """Against scipy's Pearson type III."""
    drawn = stats.pearson3(skewness)
    for chance in (0.001, 0.01, 0.1, 0.5, 0.9, 0.99, 0.999):
        normal = stats.norm.ppf(chance)
        assert normal_equivalent_of_skew(float(drawn.ppf(chance)), skewness) == pytest.approx(
            normal, abs=0.01 + 0.06 * max(0, abs(normal) - 1) * abs(skewness)
        )


def test_without_skewness_nothing_is_bent() -> None:
    assert normal_equivalent_of_skew(-2.7, 0.0) == -2.7
