"""A line through the origin learned from levels: one factor between millilitres stated and millilitres taken.

Sources:
- NIST/ITL Statistical Reference Datasets, linear least squares regression, datasets NoInt1 and NoInt2 (average level of
  difficulty): y = B1 x. The certified values were read 2026-11-25 as quoted in the tests of several public numerical
  libraries; the pages themselves were not opened.
- C. M. Bishop, Pattern Recognition and Machine Learning (2006), 3.3.1, equations 3.50 and 3.51, for a slope that was
  believed before; the figures were worked out by those equations in another program.

Each x is put in as a deposit of so many millilitres, each y is read as so many thousandths of a container of one litre,
and goes the whole way from entries to the factor. All readings weigh the same, as in the datasets, where one container
is packed like the next; the belief before is as good as none.
"""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from tests.makers import MONDAY_MORNING, a_deposit, a_level, an_opening
from wasteledger.estimate.volume_increments import VolumeIncrement, volume_increments
from wasteledger.estimate.volume_learning import VolumeFactors, teach_volume
from wasteledger.estimate.volumes import STATED_DEPOSIT, VolumesIn
from wasteledger.model.facts import Fact

INT1 = (tuple(range(60, 71)), tuple(range(130, 141)))
INT2 = ((4, 5, 6), (3, 4, 4))


def increments(xs: tuple[int, ...], ys: tuple[int, ...]) -> tuple[VolumeIncrement, ...]:
    """A container for each pair, read once."""
    bodies = [
        body
        for place, (x, y) in enumerate(zip(xs, ys, strict=True))
        for body in (
            an_opening(f"C-{place}", fill_ml=1000),
            a_deposit(f"C-{place}", volume_ml=x),
            a_level(f"C-{place}", y),
        )
    ]
    return volume_increments(
        Fact(seq, seq, at := MONDAY_MORNING + timedelta(hours=seq), at, "kim", body)
        for seq, body in enumerate(bodies, start=1)
    )


def believed(mean: float, sd: float) -> VolumeFactors:
    return VolumeFactors((STATED_DEPOSIT,), (mean,), ((sd**2,),))


@pytest.mark.parametrize(
    ("data", "slope", "deviation"),
    [(INT1, 2.07438016528926, 0.165289256198347e-01), (INT2, 0.727272727272727, 0.420827318078432e-01)],
    ids=["NoInt1", "NoInt2"],
)
def test_no_int_through_levels(data: tuple[tuple[int, ...], tuple[int, ...]], slope: float, deviation: float) -> None:
    read = increments(*data)

    taught = teach_volume(believed(1.0, 1e8), read, packing_cv=0.0)

    (factor,), ((variance,),) = taught.factors.means, taught.factors.covariance
    assert factor == pytest.approx(slope, rel=1e-9)
    # The residuals, as certified: y less the slope times x.
    assert [one * math.sqrt(taught.factors.scale) * 30 for one in taught.residuals] == pytest.approx(
        [y - slope * x for x, y in zip(*data, strict=True)], abs=1e-9
    )
    # The deviation is the scale's root over that of Σ x²; the scale here has ten readings of 30 mL behind it as well,
    # so it is exchanged for the one that the data alone give.
    residual_variance = sum((y - slope * x) ** 2 for x, y in zip(*data, strict=True)) / (len(read) - 1)
    assert math.sqrt(variance / taught.factors.scale * residual_variance / 30**2) == pytest.approx(deviation, rel=1e-9)


def test_bishop_3_3_1_a_factor_believed_before() -> None:
    """NoInt2 with its certified residual deviation taken as known: believed 1.0 with 0.1, learned 0.768304915."""
    known = 0.369274472937998**2
    read = [
        VolumeIncrement(f"C-{x}", x, MONDAY_MORNING, MONDAY_MORNING, float(y), known, VolumesIn(((STATED_DEPOSIT, x),)))
        for x, y in zip(*INT2, strict=True)
    ]

    taught = teach_volume(believed(1.0, 0.1), read, packing_cv=0.0).factors

    assert taught.means[0] == pytest.approx(0.768304915, abs=5e-10)
    assert math.sqrt(taught.covariance[0][0] / taught.scale) == pytest.approx(0.0387880593, rel=1e-8)
