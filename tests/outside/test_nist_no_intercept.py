"""Lines through the origin, which is what one factor between count and mass is, against the certified values of NIST.

Source: NIST/ITL Statistical Reference Datasets, linear least squares regression, datasets NoInt1 and NoInt2 (average
level of difficulty): y = B1 x. The certified values were read 2026-11-25 as quoted in the tests of several public
numerical libraries; the pages themselves were not opened. R-squared is about zero, not about the mean, as there.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.regression import learn

DIGITS = 1e-9


@pytest.mark.parametrize(
    ("xs", "ys", "slope", "deviation", "residual_deviation", "r_squared"),
    [
        (
            range(60, 71),
            range(130, 141),
            2.07438016528926,
            0.165289256198347e-01,
            3.56753034006338,
            0.999365492298663,
        ),
        (
            (4, 5, 6),
            (3, 4, 4),
            0.727272727272727,
            0.420827318078432e-01,
            0.369274472937998,
            0.993348115299335,
        ),
    ],
    ids=["NoInt1", "NoInt2"],
)
def test_no_int(
    xs: range | tuple[int, ...],
    ys: range | tuple[int, ...],
    slope: float,
    deviation: float,
    residual_deviation: float,
    r_squared: float,
) -> None:
    learned = learn([(x,) for x in xs], list(ys), [1.0] * len(xs))

    assert learned.means[0] == pytest.approx(slope, rel=DIGITS)
    assert math.sqrt(learned.covariance[0][0]) == pytest.approx(deviation, rel=DIGITS)
    assert math.sqrt(learned.scale) == pytest.approx(residual_deviation, rel=DIGITS)
    assert 1 - learned.residual_sum / sum(y * y for y in ys) == pytest.approx(r_squared, rel=DIGITS)
    assert learned.degrees_of_freedom == len(xs) - 1
