"""Do the kinds differ? One column a kind, against the certified analyses of variance of NIST.

Source: NIST/ITL Statistical Reference Datasets, analysis of variance, datasets AtmWtAg (2 instruments, 48
observations, seven leading digits that never change; L. J. Powell, T. J. Murphy, J. W. Gramlich, NBS J Res 87 (1982)
9) and SiRstv (5 instruments, 25 observations). Read 2026-11-25 in the copies of the files that the scipy package ships
(stats/tests/data/nist_anova, lines 41 to 47 and from 61).

AtmWtAg is what a heavy container with small additions is: all that matters is in the last digits. A double holds
107.8681568 to 1e-14, which is 1e-9 of a residual of 1e-5, so its certified values cannot be met to more than about ten
digits whatever is done; 1e-10 is reached, and 1e-13 for SiRstv.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from tests.outside.nist.files import columns
from wasteledger.estimate.regression import Learned, learn


@dataclass(frozen=True)
class Certified:
    dataset: str
    measured: str
    between: float
    within: float
    f: float
    r_squared: float
    residual_deviation: float
    digits: float


ATM_WT_AG = Certified(
    "AtmWtAg",
    "weight",
    3.63834187500000e-09,
    1.04951729166667e-08,
    15.9467335677930,
    0.257426544538321,
    1.51048314446410e-05,
    1e-9,
)
SI_RSTV = Certified(
    "SiRstv",
    "resistance",
    5.11462616000000e-02,
    2.16636560000000e-01,
    1.18046237440255,
    0.190999039051129,
    0.104076068334656,
    1e-12,
)


def by_kind(certified: Certified) -> tuple[Learned, Learned]:
    """One mean for each instrument; one mean for all."""
    data = columns(certified.dataset)
    kinds = sorted(set(data["instrument"]))
    rows = [[1.0 if kind == instrument else 0.0 for kind in kinds] for instrument in data["instrument"]]
    observed = data[certified.measured]
    each = [1.0] * len(observed)
    return learn(rows, observed, each), learn([(1.0,)] * len(observed), observed, each)


@pytest.mark.parametrize("certified", [ATM_WT_AG, SI_RSTV], ids=lambda certified: certified.dataset)
def test_one_way_analysis_of_variance(certified: Certified) -> None:
    apart, together = by_kind(certified)
    between = together.residual_sum - apart.residual_sum
    freedom = together.degrees_of_freedom - apart.degrees_of_freedom

    assert between == pytest.approx(certified.between, rel=certified.digits, abs=0)
    assert apart.residual_sum == pytest.approx(certified.within, rel=certified.digits, abs=0)
    assert between / freedom / apart.scale == pytest.approx(certified.f, rel=certified.digits)
    assert between / together.residual_sum == pytest.approx(certified.r_squared, rel=certified.digits)
    assert math.sqrt(apart.scale) == pytest.approx(certified.residual_deviation, rel=certified.digits, abs=0)


@pytest.mark.parametrize(("certified", "freedom"), [(ATM_WT_AG, 46), (SI_RSTV, 20)])
def test_degrees_of_freedom_within(certified: Certified, freedom: int) -> None:
    assert by_kind(certified)[0].degrees_of_freedom == freedom
