"""Masses and volumes: read exactly, printed plainly, refused where they could mean two things."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.units import LARGEST, BadQuantity, Mass, Volume


@pytest.mark.parametrize(
    ("text", "mg"),
    [
        ("34.2 g", 34_200),
        ("34.2g", 34_200),
        (" 34,2  G ", 34_200),
        ("0.001 g", 1),
        ("1.5kg", 1_500_000),
        ("7 mg", 7),
        (".5 g", 500),
        ("5. g", 5_000),
        ("+5 g", 5_000),
        ("0 g", 0),
        ("-0 g", 0),
        ("0,125 kg", 125_000),
        ("12,5000 g", 12_500),
        ("1234,125 g", 1_234_125),
        ("9007199254740991 mg", LARGEST),
    ],
)
def test_a_mass_is_read_exactly(text: str, mg: int) -> None:
    assert Mass.parse(text) == Mass(mg)


@pytest.mark.parametrize(
    "text", ["", "g", "12.5", "heavy", "12.5 stone", "1.2.3 g", "1e3 g", "12 5 g", "５ g", "0.0001 g", "-1 g", "-1 oz"]
)
def test_what_is_no_mass_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(BadQuantity) as refusal:
        Mass.parse(text)
    assert refusal.value.hint


def test_a_number_without_a_unit_shows_three_that_would_do() -> None:
    with pytest.raises(BadQuantity, match="has no unit") as refusal:
        Mass.parse("12.5")
    assert refusal.value.hint == "Write a number and a unit, such as 34.2g, 1.5kg or 2lb."


@pytest.mark.parametrize("text", ["1,500 g", "12,500 mg", "999,999g", "1,000 lb", "+1,500 g"])
def test_a_comma_before_three_digits_could_be_thousands(text: str) -> None:
    """One and a half grams to one reader, fifteen hundred to another: a thousandfold error that nobody would see."""
    with pytest.raises(BadQuantity, match="can be read two ways"):
        Mass.parse(text)


def test_a_comma_in_volumes_as_well() -> None:
    assert Volume.parse("0,5 gal") == Volume(1893)
    with pytest.raises(BadQuantity, match="can be read two ways"):
        Volume.parse("1,893 mL")


@pytest.mark.parametrize("digits", [17, 41, 5000])
@pytest.mark.parametrize("unit", ["g", "oz"])
def test_a_number_of_any_length_is_refused_and_not_fallen_over(digits: int, unit: str) -> None:
    with pytest.raises(BadQuantity):
        Mass.parse("9" * digits + unit)
    with pytest.raises(BadQuantity):
        Mass.parse("0." + "1" * digits + "g")


def test_an_amount_that_cannot_be_kept_is_refused() -> None:
    for amount in (-1, LARGEST + 1, 10**5000, -(10**5000)):
        with pytest.raises(BadQuantity, match=r"A mass of .* cannot be kept"):
            Mass(amount)
        with pytest.raises(BadQuantity, match=r"A volume of .* cannot be kept"):
            Volume(amount)


@pytest.mark.parametrize(
    ("mg", "shown"),
    [
        (0, "0 g"),
        (1, "0.001 g"),
        (34_200, "34.2 g"),
        (999_999, "999.999 g"),
        (1_000_000, "1 kg"),
        (1_500_001, "1.500001 kg"),
    ],
)
def test_a_mass_is_printed_with_every_digit_it_has(mg: int, shown: str) -> None:
    assert str(Mass(mg)) == shown


@pytest.mark.parametrize(("ml", "shown"), [(0, "0 mL"), (999, "999 mL"), (1000, "1 L"), (1893, "1.893 L")])
def test_a_volume_is_printed_with_every_digit_it_has(ml: int, shown: str) -> None:
    assert str(Volume(ml)) == shown


@pytest.mark.parametrize("text", ["1.5 L", "1,5 l", "1500 ml", "1500mL"])
def test_a_volume_is_read_exactly(text: str) -> None:
    assert Volume.parse(text) == Volume(1500)


@pytest.mark.parametrize("text", ["0.5 mL", "1.0005 L", "-1 mL", "-1 gal", "3 cups", "3"])
def test_what_is_no_volume_is_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        Volume.parse(text)


@given(st.integers(0, LARGEST))
def test_what_is_printed_is_read_back(amount: int) -> None:
    assert Mass.parse(str(Mass(amount))) == Mass(amount)
    assert Volume.parse(str(Volume(amount))) == Volume(amount)


@given(st.integers(0, LARGEST), st.sampled_from(sorted(Mass.UNITS)))
def test_in_another_unit_nothing_is_lost(mg: int, unit: str) -> None:
    assert Mass(mg).in_unit(unit) * Mass.UNITS[unit] == mg


@given(st.integers(0, 10**12), st.sampled_from(["oz", "lb", "kg"]), st.integers(0, 6))
def test_rounded_is_the_nearest_with_so_many_places(mg: int, unit: str, places: int) -> None:
    number, shown_unit = Mass(mg).rounded(unit, places).split()

    assert shown_unit == unit
    assert len(number.partition(".")[2]) == places
    assert abs(Fraction(number) - Mass(mg).in_unit(unit)) <= Fraction(1, 2 * 10**places)


def test_masses_have_an_order() -> None:
    assert sorted([Mass(3), Mass(1), Mass(2)]) == [Mass(1), Mass(2), Mass(3)]
