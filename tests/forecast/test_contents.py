"""Draws of what is not known of a container: their moments against those that the prior gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from tests.forecast.makers import a_prior, a_rate
from wasteledger.forecast.contents import draws_of, excess_kurtosis
from wasteledger.forecast.gauges import Gauge, Inflow


@pytest.mark.parametrize("variation", [0.1, 0.5, 1.0, 1.5])
def test_excess_kurtosis_is_that_of_the_log_normal(variation: float) -> None:
    reference = stats.lognorm(math.sqrt(math.log1p(variation**2))).stats("k")

    assert excess_kurtosis(variation**2) == pytest.approx(float(reference), rel=1e-9)


def test_draws_have_the_moments_of_the_prior() -> None:
    """Room: what is left of 400 g; its variance is scale, common error and scatter, as in the estimate."""
    x = (20.0, 4.0)
    prior = a_prior(shared_cv=0.3)
    gauge = Gauge("mass", 400_000.0, known=50_000.0, known_sd=2_000.0, exposures=x, prior=prior)
    draws = draws_of(gauge, [Inflow("high_volume", a_rate(0.6)), Inflow("line_filter", a_rate(0.05))])

    rooms = np.array([draw.room for draw in draws])
    drifts = np.array([draw.drift for draw in draws])
    covariance = np.array(prior.covariance_mg2)
    shared = np.array(x) @ covariance @ np.array(x)
    scatter = np.array(x) @ np.array(prior.scatter_sd_mg) ** 2
    daily = np.array([0.6, 0.05])
    rates = ((0.6 * 3000) ** 2 + (0.05 * 15000) ** 2) / 60

    assert rooms.mean() == pytest.approx(400_000 - 50_000 - 20 * 3000 - 4 * 15000, rel=0.01)
    assert rooms.std() == pytest.approx(math.sqrt(2_000.0**2 + shared + scatter), rel=0.12)
    assert drifts.mean() == pytest.approx(0.6 * 3000 + 0.05 * 15000, rel=0.01)
    assert drifts.std() == pytest.approx(math.sqrt(daily @ covariance @ daily + rates), rel=0.1)
    # Much in it already, and much to come: one error of the coefficients.
    assert np.corrcoef(rooms, drifts)[0, 1] < -0.4
