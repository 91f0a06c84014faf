"""Exact conversions, held against tables that we did not make.

- NIST Handbook 44, appendix C, section 4 (the exact values are underlined there): avoirdupois pound 453.592 37 g, ounce
  28.349 523 125 g, short ton 0.907 184 74 metric ton, US gallon 231 cubic inches, cubic inch 16.387 064 mL. Values read
  2026-11-25 as quoted from the handbook by public conversion tables; the handbook itself was not opened.
- NIST Special Publication 811 (2008), appendix B.8, from memory: factors to seven digits, 4.535 924 E-01 kg for the
  pound, 2.834 952 E-02 kg for the ounce, 3.785 412 E-03 m³ for the gallon, 2.957 353 E-05 m³ for the fluid ounce.
- scipy.constants, as a reference library.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from scipy import constants

from wasteledger.units import Mass, Volume


def test_handbook_44_pound_and_ounce() -> None:
    assert Mass.UNITS["lb"] == Fraction("453592.37")
    assert Mass.UNITS["oz"] == Fraction("28349.523125")
    assert Mass.UNITS["oz"] * 16 == Mass.UNITS["lb"]


def test_handbook_44_short_ton() -> None:
    # 2000 lb is 907,184,740 mg exactly, so nothing is carried.
    assert Mass.parse("2000 lb") == Mass.parse("907.18474 kg")


def test_handbook_44_gallon() -> None:
    assert Volume.UNITS["gal"] == 231 * Fraction("16.387064")
    assert Volume.UNITS["floz"] * 128 == Volume.UNITS["gal"]


@pytest.mark.parametrize(
    ("factor", "printed"),
    [
        (Mass.UNITS["lb"] / 10**6, "4.535924E-01"),
        (Mass.UNITS["oz"] / 10**6, "2.834952E-02"),
        (Volume.UNITS["gal"] / 10**6, "3.785412E-03"),
        (Volume.UNITS["floz"] / 10**6, "2.957353E-05"),
    ],
)
def test_sp_811_b_8_seven_digits(factor: Fraction, printed: str) -> None:
    assert f"{float(factor):.6E}" == printed


@pytest.mark.parametrize(
    ("ours", "kilograms"),
    [("lb", constants.pound), ("oz", constants.ounce)],
)
def test_masses_in_scipy(ours: str, kilograms: float) -> None:
    assert float(Mass.UNITS[ours]) == pytest.approx(kilograms * 1e6, rel=1e-15)


@pytest.mark.parametrize(
    ("ours", "cubic_metres"),
    [("gal", constants.gallon_US), ("floz", constants.fluid_ounce_US)],
)
def test_volumes_in_scipy(ours: str, cubic_metres: float) -> None:
    assert float(Volume.UNITS[ours]) == pytest.approx(cubic_metres * 1e6, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "mg"),
    [("1 oz", 28_350), ("1 lb", 453_592), ("0.5 lb", 226_796), ("100 lb", 45_359_237), ("16 oz", 453_592)],
)
def test_a_scale_in_pounds_is_carried_to_the_nearest_milligram(text: str, mg: int) -> None:
    assert Mass.parse(text) == Mass(mg)


def test_half_a_gallon_of_line_cleaner_a_room() -> None:
    """Half a US gallon a room and evening, six rooms (common practice, no source): 1.893 L and 11.356 L."""
    assert Volume.parse("0.5 gal") == Volume(1893)
    assert Volume.parse("3 gal") == Volume(11_356)


def test_back_in_pounds() -> None:
    assert Mass(45_359_237).in_unit("lb") == 100
    assert Mass.parse("1 kg").rounded("lb", 6) == "2.204623 lb"  # SP 811 B.8, inverse of the pound
