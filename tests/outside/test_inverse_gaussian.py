"""The inverse Gaussian distribution: digits from 30-digit arithmetic, SciPy, and a fit to published repair times.

Sources:
- distribution function as on HandWiki, Inverse Gaussian distribution, read 2026-11-25, worked out to 12 digits with
  30-digit arithmetic. (One R package's source leaves out the minus sign in the second term, and one abstract prints
  x/m under the root; both give other digits.)
- 46 active repair times (hours) of an airborne transceiver, a classic list that stands in several public repositories
  (read 2026-11-25); fitted mean 3.607 and shape 1.659 as published, from memory. Two repositories misprint the list:
  24 for 24.5 gives 3.595652 and 1.661112; another leaves 2.7 out.
- SciPy, `scipy.stats.invgauss(mu=m/l, scale=l)`, as a second implementation.
"""

from __future__ import annotations

import pytest
from scipy import stats

from wasteledger.forecast.passage import InverseGaussian

REPAIR_HOURS = [
    *[0.2, 0.3, *[0.5] * 4, *[0.6] * 2, *[0.7] * 3, *[0.8] * 2, *[1.0] * 4, 1.1, 1.3, *[1.5] * 4, *[2.0] * 2, 2.2, 2.5],
    *[2.7, *[3.0] * 2, *[3.3] * 2, *[4.0] * 2, 4.5, 4.7, 5.0, *[5.4] * 2, 7.0, 7.5, 8.8, 9.0, 10.3, 22.0, 24.5],
]


@pytest.mark.parametrize(
    ("time", "mean", "shape", "chance"),
    [
        (1.0, 1.0, 1.0, 0.668102001223),
        (0.5, 1.0, 1.0, 0.364975548173),
        (2.0, 1.0, 1.0, 0.885475425986),
        (1.0, 1.0, 4.0, 0.594410641302),
        (10.0, 12.0, 48.0, 0.445491918039),
        (400.0, 365.0, 5000.0, 0.682655802173),
    ],
)
def test_distribution_function_to_twelve_digits(time: float, mean: float, shape: float, chance: float) -> None:
    assert InverseGaussian(mean, shape).chance_by(time) == pytest.approx(chance, abs=6e-13)


@pytest.mark.parametrize(
    ("mean", "shape"),
    [(1.0, 0.01), (1.0, 1.0), (50.0, 200.0), (280.0, 32_666.667), (365.0, 5_000.0), (1.0, 1e4), (2000.0, 5e6)],
)
def test_distribution_function_and_quantiles_against_scipy(mean: float, shape: float) -> None:
    """Where 2l/m is in the thousands the second term is exp(20000) times nothing, unless logarithms are added."""
    ours, reference = InverseGaussian(mean, shape), stats.invgauss(mu=mean / shape, scale=shape)

    for share in (0.001, 0.05, 0.1, 0.5, 0.9, 0.95, 0.999):
        time = float(reference.ppf(share))
        assert ours.chance_by(time) == pytest.approx(share, rel=1e-8)
        assert ours.quantile(share) == pytest.approx(time, rel=1e-7)
    assert ours.sd == pytest.approx(reference.std(), rel=1e-9)


def test_fit_of_the_repair_times() -> None:
    assert len(REPAIR_HOURS) == 46

    fitted = InverseGaussian.fitted(REPAIR_HOURS)

    assert (fitted.mean, fitted.shape) == pytest.approx((3.606522, 1.658853), abs=5e-7)
    assert (round(fitted.mean, 3), round(fitted.shape, 3)) == (3.607, 1.659)


def test_fit_of_the_misprinted_list() -> None:
    """A check of the check: the misprint moves the third digit, so the list above is the right one."""
    fitted = InverseGaussian.fitted([24.0 if hours == 24.5 else hours for hours in REPAIR_HOURS])

    assert (fitted.mean, fitted.shape) == pytest.approx((3.595652, 1.661112), abs=5e-7)
