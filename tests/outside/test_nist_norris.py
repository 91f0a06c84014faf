"""A straight line through 36 calibrations, against the certified values of NIST.

Source: NIST/ITL Statistical Reference Datasets, linear least squares regression, dataset Norris (lower level of
difficulty): y = B0 + B1 x, 36 observations, certified to 15 digits. Read 2026-11-25 in the copy of the file that the
scipy package ships (stats/tests/data/nist_linregress/Norris.dat, lines 31 to 46 and 61 to 96).
The relative error asked for is 1e-9; about 1e-14 is reached.
"""

from __future__ import annotations

import math

import pytest

from tests.outside.nist.files import columns
from wasteledger.estimate.regression import learn

DATA = columns("Norris")
DIGITS = 1e-9

LEARNED = learn([(1.0, x) for x in DATA["x"]], DATA["y"], [1.0] * 36)


def test_norris_coefficients() -> None:
    assert LEARNED.means == pytest.approx((-0.262323073774029, 1.00211681802045), rel=DIGITS)


def test_norris_standard_deviations() -> None:
    deviations = [math.sqrt(LEARNED.covariance[place][place]) for place in range(2)]

    assert deviations == pytest.approx((0.232818234301152, 0.429796848199937e-03), rel=DIGITS)


def test_norris_residuals() -> None:
    assert math.sqrt(LEARNED.scale) == pytest.approx(0.884796396144373, rel=DIGITS)
    assert LEARNED.residual_sum == pytest.approx(26.6173985294224, rel=DIGITS)
    assert LEARNED.degrees_of_freedom == 34


def test_norris_r_squared() -> None:
    about_the_mean = learn([(1.0,)] * 36, DATA["y"], [1.0] * 36).residual_sum

    assert about_the_mean - LEARNED.residual_sum == pytest.approx(4255954.13232369, rel=DIGITS)
    assert 1 - LEARNED.residual_sum / about_the_mean == pytest.approx(0.999993745883712, rel=DIGITS)
