"""Six columns that nearly repeat each other, against the certified values of NIST.

Source: NIST/ITL Statistical Reference Datasets, linear least squares regression, dataset Longley (higher level of
difficulty): y = B0 + B1 x1 + … + B6 x6, 16 observations, certified to 15 digits. The certified values are those of the
dataset's page (from a list of them, read 2026-11-25; the page itself was not opened); the data are those that the
statsmodels package ships (datasets/longley), said there to be in the public domain. J. W. Longley, An appraisal of
least squares programs for the electronic computer from the point of view of the user, J Am Stat Assoc 62 (1967) 819.

Solving the normal equations loses eight digits here (about 3e-8 is left). Seven digits are commonly asked for in double
precision; ten are asked for here, which the normal equations miss, and eleven are reached.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.outside.nist.files import columns
from wasteledger.estimate.regression import learn

DATA = columns("Longley")
DIGITS = 1e-10
CERTIFIED = (  # estimate, its standard deviation
    (-3482258.63459582, 890420.383607373),
    (15.0618722713733, 84.9149257747669),
    (-0.358191792925910e-01, 0.334910077722432e-01),
    (-2.02022980381683, 0.488399681651699),
    (-1.03322686717359, 0.214274163161675),
    (-0.511041056535807e-01, 0.226073200069370),
    (1829.15146461355, 455.478499142212),
)

ROWS = [(1.0, *xs) for xs in zip(*(DATA[f"x{place}"] for place in range(1, 7)), strict=True)]
LEARNED = learn(ROWS, DATA["y"], [1.0] * 16)


@pytest.mark.parametrize("place", range(7))
def test_longley_coefficients(place: int) -> None:
    estimate, deviation = CERTIFIED[place]

    assert LEARNED.means[place] == pytest.approx(estimate, rel=DIGITS)
    assert math.sqrt(LEARNED.covariance[place][place]) == pytest.approx(deviation, rel=DIGITS)


def test_longley_residuals() -> None:
    assert math.sqrt(LEARNED.scale) == pytest.approx(304.854073561965, rel=DIGITS)
    assert LEARNED.degrees_of_freedom == 9


def test_longley_r_squared() -> None:
    about_the_mean = learn([(1.0,)] * 16, DATA["y"], [1.0] * 16).residual_sum

    assert 1 - LEARNED.residual_sum / about_the_mean == pytest.approx(0.995479004577296, rel=DIGITS)


def test_longley_is_hard() -> None:
    """The normal equations fail the same check, so it would notice if they were used."""
    x, y = np.array(ROWS), np.array(DATA["y"])
    by_normal_equations = np.linalg.solve(x.T @ x, x.T @ y)

    certified = np.array([estimate for estimate, _ in CERTIFIED])
    assert np.max(np.abs(by_normal_equations / certified - 1)) > 10 * DIGITS
