"""Weighted least-squares reconciliation of six flows of a heat exchanger with a bypass.

Source: S. Narasimhan, C. Jordache, Data Reconciliation and Gross Error Detection (2000), chapter 1. Measured values and
unit variances were read on 2026-11-25 in a public repository of benchmarks (EDSONCV/dr-ged-benchmarks,
data_reconciliation/2011, P4); the reconciled values are those of the book, from memory, and were reproduced. The limit
of the global test, 9.4877, is the tabulated 95 % point of chi-square with four degrees of freedom.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.reconcile import chi_square_beyond, reconcile

MEASURED = (101.91, 64.45, 34.65, 64.20, 36.44, 98.88)
BALANCES = (
    (1.0, -1.0, -1.0, 0.0, 0.0, 0.0),
    (0.0, 1.0, 0.0, -1.0, 0.0, 0.0),
    (0.0, 0.0, 1.0, 0.0, -1.0, 0.0),
    (0.0, 0.0, 0.0, 1.0, 1.0, -1.0),
)
UNIT = [[float(i == j) for j in range(6)] for i in range(6)]
FOUND = reconcile(MEASURED, UNIT, BALANCES)


def test_narasimhan_jordache_1_residuals() -> None:
    assert FOUND.residuals == pytest.approx((2.81, 0.25, -1.79, 1.76))


def test_narasimhan_jordache_1_reconciled_flows() -> None:
    assert FOUND.values == pytest.approx((100.22, 64.50, 35.72, 64.50, 35.72, 100.22), abs=1e-9)


def test_narasimhan_jordache_1_each_flow_is_known_better() -> None:
    assert [math.sqrt(FOUND.covariance[n][n]) for n in range(6)] == pytest.approx([0.57735] * 6, abs=5e-6)


def test_narasimhan_jordache_1_global_test_sees_no_gross_error() -> None:
    assert FOUND.chi_square == pytest.approx(6.4075, abs=1e-9)
    assert FOUND.degrees_of_freedom == 4
    assert chi_square_beyond(9.4877, 4) == pytest.approx(0.05, abs=1e-5)
    assert FOUND.p > 0.05
