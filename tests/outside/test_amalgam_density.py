"""Density of set amalgam: from a test piece, and from its elements; and of debris that has amalgam in it.

Sources:
- ISO 24234:2015, note on the test piece (as seen in an extract): a cylinder of 4 mm by 8 mm weighs about 1.2 g. That is
  11.9366 g/cm³, and, as 1.2 is rounded, between 11.44 and 12.43.
- Elements (handbook values, from memory): Hg 13.53, Ag 10.49, Sn 7.29, Cu 8.96 g/cm³. An alloy of Hg 0.50, Ag 0.35,
  Sn 0.09, Cu 0.06 by mass: 11.1904 g/cm³ where volumes add up.
- One capsule, 456 mg Hg, 336 Ag, 174 Sn, 90 Cu (method sheet of an open data set of the UK Centre for Ecology and
  Hydrology on amalgam suspensions, read 2026-11-25): 10.5975 g/cm³.

The densities by addition were worked out in another program. The metals contract as they set, so the piece is denser.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.agreement import rectangular
from wasteledger.estimate.density import mixture_density
from wasteledger.estimate.prior import read_defaults
from wasteledger.estimate.regression import Belief, Learned, learn
from wasteledger.resources import find

HG, AG, SN, CU = 13.53, 10.49, 7.29, 8.96  # g/cm³
SET_AMALGAM = 11_500.0  # mg/mL, between the test piece and the elements


def the_piece() -> Learned:
    """Mass over volume as what one weighing teaches of a factor; its u is that of the rounding to 0.1 g."""
    volume_cm3 = math.pi * 0.2**2 * 0.8
    nothing = Belief((0.0,), ((1e12,),), scale=1.0, degrees_of_freedom=math.inf)
    return learn([(volume_cm3,)], (1.2,), (rectangular(1.15, 1.25)[1] ** 2,), nothing)


def test_iso_24234_test_piece() -> None:
    piece = the_piece()

    assert piece.means[0] == pytest.approx(11.9366, abs=5e-5)
    assert math.sqrt(piece.covariance[0][0]) == pytest.approx(rectangular(11.44, 12.43)[1], abs=0.005)


@pytest.mark.parametrize(
    ("parts", "density"),
    [
        (((0.50, HG), (0.35, AG), (0.09, SN), (0.06, CU)), 11.1904),
        (((456, HG), (336, AG), (174, SN), (90, CU)), 10.5975),
        (((0.4318, HG), (0.3182, AG), (0.1648, SN), (0.0852, CU)), 10.5975),
    ],
    ids=["alloy", "capsule", "capsule-in-rounded-shares"],
)
def test_elements_whose_volumes_add_up(parts: tuple[tuple[float, float], ...], density: float) -> None:
    assert mixture_density(parts) == pytest.approx(density, abs=1e-3)


def test_the_shipped_density_of_debris_is_one_of_such_mixtures() -> None:
    """Half water, 20 to 30 % amalgam, the rest solids of twice water's density: judged shares, 1.5 to 1.6 g/mL."""
    bulk = read_defaults(find("estimate/defaults.toml").read_bytes()).bulk_density
    poor, rich = (
        mixture_density(((0.5, 1000.0), (amalgam, SET_AMALGAM), (0.5 - amalgam, 2000.0))) for amalgam in (0.2, 0.3)
    )

    assert (round(poor, -2), round(rich, -2)) == (1500, 1600)
    assert abs(bulk.mean_mg_per_ml - (poor + rich) / 2) < bulk.sd_mg_per_ml / 2
