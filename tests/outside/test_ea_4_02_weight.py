"""Calibration of a weight of 10 kg: what is known of five quantities, three readings, and the statement of their sum.

Source: EA-4/02, Evaluation of the uncertainty of measurement in calibration, supplement 1, example S2. Inputs read
2026-11-25 on a mirror of the example: standard 10000.005 g with U 45 mg (k 2), drift within ±15 mg, eccentricity and
magnetism, and air buoyancy, within ±10 mg each, observed difference 20 mg as the mean of three. The pooled deviation of
25 mg, and the results printed in the original (u 29.3 mg, U 59 mg), are from memory. The mirror prints 29.1 mg because
it takes 14.2 mg where 25 mg / √3 is 14.434 mg. The value is 10000.025 g.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.agreement import rectangular
from wasteledger.estimate.regression import Belief, learn
from wasteledger.estimate.rounding import round_to, round_uncertainty

# mg above 10 kg: standard, drift, difference (nearly nothing is believed of it), eccentricity, buoyancy.
MEANS = (5.0, 0.0, 0.0, 0.0, 0.0)
DEVIATIONS = (45 / 2, rectangular(-15, 15)[1], 1e6, rectangular(-10, 10)[1], rectangular(-10, 10)[1])
BELIEF = Belief(
    MEANS,
    tuple(tuple(sd**2 if row == column else 0.0 for column in range(5)) for row, sd in enumerate(DEVIATIONS)),
    scale=1.0,
    degrees_of_freedom=math.inf,
)
POOLED_MG = 25.0

LEARNED = learn([(0, 0, 1, 0, 0)] * 3, (15.0, 20.0, 25.0), [POOLED_MG**2] * 3, BELIEF)


def test_ea_4_02_s2_budget() -> None:
    parts_mg = [math.sqrt(LEARNED.covariance[place][place]) for place in range(5)]

    assert parts_mg == pytest.approx((22.5, 8.6603, 14.4338, 5.7735, 5.7735), abs=5e-5)


def test_ea_4_02_s2_combined() -> None:
    value_mg, combined_mg, _ = LEARNED.predict((1, 1, 1, 1, 1), 0.0)

    assert value_mg == pytest.approx(25.0)
    assert combined_mg == pytest.approx(29.262, abs=0.001)
    assert round(combined_mg, 1) == 29.3


def test_ea_4_02_s2_statement() -> None:
    """U = 2 u = 59 mg, and the value to the same digit: 10000.025 g."""
    value_mg, combined_mg, _ = LEARNED.predict((1, 1, 1, 1, 1), 0.0)
    expanded_mg, step = round_uncertainty(math.ceil(2 * combined_mg))

    assert expanded_mg == 59
    assert round_to(10_000_000 + round(value_mg), step) == 10_000_025
