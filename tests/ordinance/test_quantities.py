"""Whole kilograms and pounds for a paper, and the question whether a package holds a pound of mercury."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.ordinance.quantities import NoShare, WholeUnits, asks_shipper, whole_units
from wasteledger.units import BadQuantity


def test_halves_go_up() -> None:
    assert whole_units(499_999).kilograms == 0
    assert whole_units(500_000).kilograms == 1
    assert whole_units(1_500_000).kilograms == 2
    assert whole_units(2_500_000).kilograms == 3


def test_a_unit_in_which_nothing_is_left_is_not_offered() -> None:
    assert whole_units(1_460_000).words == "1 K or 3 P"
    assert whole_units(300_000) == WholeUnits(0, 1)
    assert whole_units(300_000).words == "1 P"
    assert whole_units(200_000).words.startswith("less than half a pound")
    assert whole_units(0).words.startswith("less than half a pound")


@given(st.integers(0, 10**10))
def test_never_more_than_half_a_unit_away(mass_mg: int) -> None:
    found = whole_units(mass_mg)

    assert abs(found.kilograms * 1_000_000 - mass_mg) <= 500_000
    assert abs(found.pounds * Fraction("453592.37") - mass_mg) <= Fraction("226796.185")


@given(st.integers(0, 10**10), st.decimals(0, 1, places=3))
def test_the_question_comes_exactly_at_the_pound(amalgam_mg: int, share: Decimal) -> None:
    assert asks_shipper(amalgam_mg, float(share)) == (amalgam_mg * share >= Decimal("453592.37"))


def test_the_pound_itself_asks() -> None:
    assert asks_shipper(45_359_237, 0.01)
    assert not asks_shipper(45_359_236, 0.01)
    assert not asks_shipper(0, 1.0)


def test_what_is_no_mass_or_no_share_is_refused() -> None:
    with pytest.raises(BadQuantity):
        whole_units(-1)
    with pytest.raises(BadQuantity):
        asks_shipper(-1)
    for share in (-0.1, 1.1, float("nan")):
        with pytest.raises(NoShare, match="no share"):
            asks_shipper(1, share)
