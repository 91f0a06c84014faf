"""Calibration of a thermometer: a straight line, the correlation of its two coefficients, and one point read off it.

Source: JCGM 100:2008 (GUM), annex H.3. The eleven readings (table H.6) were read 2026-11-25 in the worked example of
the GTC package's documentation; the results printed in H.3.3 and H.3.4 are from memory: y1 -0.1712 with s 0.0029, y2
0.00218 with s 0.00067, r -0.930, s 0.0035; at 30 °C -0.1494 with u 0.0041. The unrounded figures beside them were
worked out by the formulas H.13a to H.13f in another program and are compared to 1e-6.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.regression import learn

READINGS = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)  # °C
CORRECTIONS = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)  # °C
CHOSEN = 20.0  # °C, t0 in H.3.2

LEARNED = learn([(1.0, t - CHOSEN) for t in READINGS], CORRECTIONS, [1.0] * 11)


def deviation(place: int) -> float:
    return math.sqrt(LEARNED.covariance[place][place])


def correlation() -> float:
    return LEARNED.covariance[0][1] / (deviation(0) * deviation(1))


@pytest.mark.parametrize(
    ("found", "printed", "places", "unrounded"),
    [
        (LEARNED.means[0], "-0.1712", 4, -0.171204),
        (deviation(0), "0.0029", 4, 0.0028776),
        (LEARNED.means[1], "0.00218", 5, 0.00218270),
        (deviation(1), "0.00067", 5, 0.00066794),
        (correlation(), "-0.930", 3, -0.930430),
        (math.sqrt(LEARNED.scale), "0.0035", 4, 0.00349756),
    ],
    ids=["y1", "s(y1)", "y2", "s(y2)", "r", "s"],
)
def test_gum_h3_3_line(found: float, printed: str, places: int, unrounded: float) -> None:
    assert f"{found:.{places}f}" == printed
    assert found == pytest.approx(unrounded, abs=1e-6)


def test_gum_h3_4_at_thirty_degrees() -> None:
    correction, uncertainty, degrees_of_freedom = LEARNED.predict((1.0, 30.0 - CHOSEN), 0.0)

    assert f"{correction:.4f}" == "-0.1494"
    assert f"{uncertainty:.4f}" == "0.0041"
    assert (correction, uncertainty) == pytest.approx((-0.149377, 0.0041386), abs=1e-6)
    assert degrees_of_freedom == 9


def test_gum_h3_5_without_correlation_when_the_middle_is_chosen() -> None:
    """H.3.5: with t0 the mean of the readings the coefficients do not correlate; the point at 30 °C stays the same."""
    middle = math.fsum(READINGS) / 11
    centred = learn([(1.0, t - middle) for t in READINGS], CORRECTIONS, [1.0] * 11)

    assert centred.covariance[0][1] == pytest.approx(0, abs=1e-18)
    assert centred.predict((1.0, 30.0 - middle), 0.0) == pytest.approx(LEARNED.predict((1.0, 10.0), 0.0), rel=1e-9)
