"""Evenly spread draws, and the gamma quantile against SciPy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from wasteledger.forecast.draws import COUNT, even_points, gamma_quantile, gamma_share, normal_points


@pytest.mark.parametrize("dimensions", [1, 2, 6, 12])
def test_every_slice_of_every_dimension_has_one_point(dimensions: int) -> None:
    points = np.array(even_points(dimensions))

    assert points.shape == (COUNT, dimensions)
    for column in points.T:
        assert sorted(column) == pytest.approx([(place + 0.5) / COUNT for place in range(COUNT)])


@pytest.mark.parametrize("dimensions", [2, 6, 9])
def test_no_two_dimensions_go_together(dimensions: int) -> None:
    """What matters of the points: a sum of deviates has the deviation that independent ones would give it."""
    deviates = np.array(normal_points(dimensions))

    assert np.abs(np.corrcoef(deviates.T) - np.eye(dimensions)).max() < 0.07
    assert deviates.sum(axis=1).std() == pytest.approx(math.sqrt(dimensions), rel=0.03)


@pytest.mark.parametrize("shape", [0.3, 0.5, 1.0, 2.0, 6.5, 20.0, 49.9, 50.0, 400.0, 1e9])
@pytest.mark.parametrize("deviate", [-3.0, -1.28, 0.0, 0.7, 2.66])
def test_gamma_quantile_is_that_of_scipy(shape: float, deviate: float) -> None:
    reference = stats.gamma.ppf(stats.norm.cdf(deviate), shape)

    assert gamma_quantile(deviate, shape) == pytest.approx(reference, rel=1e-10 if shape < 50 else 1e-3)


@pytest.mark.parametrize("shape", [0.3, 1.0, 7.0, 49.0])
@pytest.mark.parametrize("share", [0.001, 0.3, 1.0, 1.6, 4.0])
def test_gamma_share_is_that_of_scipy(shape: float, share: float) -> None:
    assert gamma_share(shape, share * shape) == pytest.approx(stats.gamma.cdf(share * shape, shape), rel=1e-11)
    assert gamma_share(shape, 0) == 0
