"""Masses that a hurried hand typed wrong are recorded as said and asked about; what may well be is not."""

from __future__ import annotations

import pytest

from tests.makers import Watch
from tests.office.makers import open_pail
from wasteledger.model.traps import Condition
from wasteledger.office.containers import open_container, record_level
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.unlikely import MERCURY_MG_PER_ML
from wasteledger.office.volumes import site_volume_increments
from wasteledger.office.workplace import Said, Workplace
from wasteledger.units import Mass

UNIT = "Is the unit right?"


def asked(warnings: tuple[str, ...], words: str = UNIT) -> list[str]:
    """Those warnings that ask."""
    return [one for one in warnings if words in one]


def test_the_density_of_mercury_is_that_of_the_conventional_millimetre() -> None:
    """NIST SP 811 (2008), B.8: 1 mmHg is 133.3224 Pa; standard gravity is 9.80665 m/s²."""
    assert pytest.approx(133.3224 / 9.80665 / 0.001, rel=1e-5) == MERCURY_MG_PER_ML


def test_kilograms_for_grams_in_a_deposit_are_asked_about(place: Workplace) -> None:
    open_pail(place)  # 5 kg at most
    put_in = record_deposit(place, "C-1", "contact", mass=Mass.parse("34.2 kg"))
    assert asked(put_in.warnings)[0].startswith("34.2 kg at once is more than container C-1 can hold in all, 5 kg.")
    assert f"correct entry {put_in.seq}" in asked(put_in.warnings)[0]


def test_a_container_without_a_limit_holds_no_more_than_its_fill_of_mercury(place: Workplace) -> None:
    open_container(place, "S-1", "tub", tare=Mass.parse("400 g"))  # 5 L
    assert not asked(record_deposit(place, "S-1", "sludge", mass=Mass.parse("67 kg")).warnings)
    assert asked(record_deposit(place, "S-1", "sludge", mass=Mass.parse("69 kg")).warnings)


def test_a_deposit_that_may_well_be_is_not_asked_about(place: Workplace) -> None:
    open_pail(place)
    assert not asked(record_deposit(place, "C-1", "contact", mass=Mass.parse("34.2 g")).warnings)
    assert not asked(record_deposit(place, "C-1", "contact", count=2).warnings)


@pytest.mark.parametrize(
    ("tare", "is_asked"), [("10000 kg", True), ("5.2 g", True), ("480 g", False), ("1.1 kg", False)]
)
def test_a_tare_far_from_the_type_s_is_asked_about(place: Workplace, tare: str, is_asked: bool) -> None:
    opened = open_container(place, "C-1", "pail", tare=Mass.parse(tare))  # 500 g
    assert bool(asked(opened.warnings, "the plan says 500 g for Trap pail")) == is_asked


@pytest.mark.parametrize(("tare", "is_asked"), [("70 kg", True), ("4 kg", False)])
def test_a_tare_of_a_type_without_one_is_held_against_its_size(place: Workplace, tare: str, is_asked: bool) -> None:
    assert bool(asked(open_container(place, "S-1", "tub", tare=Mass.parse(tare)).warnings)) == is_asked


@pytest.mark.parametrize(("tare", "is_asked"), [("2.4 g", True), ("2.6 g", False), ("7.6 g", False), ("7.7 g", True)])
def test_a_clean_trap_that_weighs_another_than_the_plan_says_is_asked_about(
    place: Workplace, tare: str, is_asked: bool
) -> None:
    open_pail(place)
    clean = Mass.parse(tare)
    swapped = record_swap(
        place, "1-HV", condition=Condition.CLOGGED, gross=Mass(clean.mg + 900), tare=clean
    )  # the plan says 5.1 g
    said = asked(swapped.warnings, "the plan says 5.1 g")
    assert bool(said) == is_asked
    assert all(f"correct entry {swapped.seq}, or the plan" in one for one in said)


def test_a_level_far_above_the_line_is_asked_about_and_teaches_nothing(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    record_swap(place, "1-HV", condition=Condition.CLOGGED, into="C-1")
    watch.wait(hours=1)
    read = record_level(place, "C-1", 1800)
    assert asked(read.warnings, f"Was it 18 %? If so, correct entry {read.seq}.")
    assert not any("Learned" in one for one in read.learned)
    with place.reading() as reader:
        assert site_volume_increments(reader) == ()
    # The next one that may well be is set against all that went in since the container was empty.
    watch.wait(hours=1)
    assert any("Learned" in one for one in record_level(place, "C-1", 180).learned)
    with place.reading() as reader:
        (found,) = site_volume_increments(reader)
    assert found.filled_ml == 900  # 18 % of 5 L


def test_a_level_a_little_above_the_line_is_not_asked_about(place: Workplace) -> None:
    open_pail(place)
    assert not asked(record_level(place, "C-1", 1200).warnings, "far above")
    assert asked(record_level(place, "C-1", 1201).warnings, "far above")


def test_the_same_message_sent_twice_is_not_asked_about_again(place: Workplace, watch: Watch) -> None:
    first = open_container(place, "C-1", "pail", Said(key="k-1"), tare=Mass.parse("50 kg"))
    put_in = record_deposit(place, "C-1", "contact", Said(key="k-2"), mass=Mass.parse("34.2 kg"))
    watch.wait(minutes=1)
    again = open_container(place, "C-1", "pail", Said(key="k-1"), tare=Mass.parse("50 kg"))
    put_in_again = record_deposit(place, "C-1", "contact", Said(key="k-2"), mass=Mass.parse("34.2 kg"))
    assert asked(first.warnings)
    assert asked(put_in.warnings)
    assert not asked(again.warnings)
    assert not asked(put_in_again.warnings)
