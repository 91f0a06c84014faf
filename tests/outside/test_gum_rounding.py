"""Rounding and coverage factors as the Guide prints them.

JCGM 100:2008 (GUM), 7.2.6, read 2026-11-25 as quoted whole by two calibration laboratories' pages: "u_c(y) = 10,47 mΩ
might be rounded up to 11 mΩ"; "u(x_i) = 28,05 kHz should be rounded down to 28 kHz"; "if y = 10,057 62 Ω with
u_c(y) = 27 mΩ, y should be rounded to 10,058 Ω".

NIST Technical Note 1297 (1994), Table B.1, read the same day at nist.gov; the same values as GUM Table G.2.
"""

from __future__ import annotations

import pytest
from scipy import stats

from wasteledger.estimate.coverage import coverage_factor
from wasteledger.estimate.rounding import round_to, round_uncertainty


def test_gum_7_2_6_carried_up() -> None:
    hundredths_of_a_milliohm = 1047

    assert round_uncertainty(hundredths_of_a_milliohm)[0] == 1100


def test_gum_7_2_6_common_sense_prevails() -> None:
    hundredths_of_a_kilohertz = 2805

    assert round_uncertainty(hundredths_of_a_kilohertz)[0] == 2800


def test_gum_7_2_6_the_value_matches_its_uncertainty() -> None:
    value_10_microohm, uncertainty_10_microohm = 1_005_762, 2_700

    rounded, step = round_uncertainty(uncertainty_10_microohm)

    assert rounded == 2_700
    assert round_to(value_10_microohm, step) == 1_005_800


TN_1297_B_1 = """
1 6.31 12.71 63.66
2 2.92 4.30 9.92
3 2.35 3.18 5.84
4 2.13 2.78 4.60
5 2.02 2.57 4.03
6 1.94 2.45 3.71
7 1.89 2.36 3.50
8 1.86 2.31 3.36
9 1.83 2.26 3.25
10 1.81 2.23 3.17
11 1.80 2.20 3.11
12 1.78 2.18 3.05
13 1.77 2.16 3.01
14 1.76 2.14 2.98
15 1.75 2.13 2.95
16 1.75 2.12 2.92
17 1.74 2.11 2.90
18 1.73 2.10 2.88
19 1.73 2.09 2.86
20 1.72 2.09 2.85
25 1.71 2.06 2.79
30 1.70 2.04 2.75
35 1.70 2.03 2.72
40 1.68 2.02 2.70
45 1.68 2.01 2.69
50 1.68 2.01 2.68
100 1.660 1.984 2.626
inf 1.645 1.960 2.576
"""

# The table prints 1.70 for 35 degrees at 90 %, where the quantile is 1.6896 (checked with scipy below).
MISPRINTED = (35.0, 0.90)

CELLS = [
    (float(freedom), coverage, printed)
    for freedom, *row in (line.split() for line in TN_1297_B_1.strip().splitlines())
    for coverage, printed in zip((0.90, 0.95, 0.99), row, strict=True)
    if (float(freedom), coverage) != MISPRINTED
]


@pytest.mark.parametrize(("freedom", "coverage", "printed"), CELLS)
def test_nist_tn_1297_table_b_1(freedom: float, coverage: float, printed: str) -> None:
    last_digit = 10.0 ** -len(printed.partition(".")[2])

    assert coverage_factor(freedom, coverage) == pytest.approx(float(printed), abs=0.5 * last_digit + 1e-9)


def test_the_misprinted_cell_against_scipy() -> None:
    freedom, coverage = MISPRINTED

    assert coverage_factor(freedom, coverage) == pytest.approx(stats.t.ppf((1 + coverage) / 2, freedom), rel=1e-9)
