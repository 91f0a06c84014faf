"""Line cleaners against the pH bands and banned chemistry in force."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL, an_ordinance
from wasteledger.ordinance import CleanerFault, Level, Override, cleaner_findings
from wasteledger.ordinance.rules import CleanerLimit

# 310 CMR 73.05 (Massachusetts, as amended 2021; read 2026-11): non-oxidizing, pH 6.5 to 8.0.
MASSACHUSETTS = replace(
    an_ordinance("massachusetts", level=Level.STATE),
    cleaners=(
        CleanerLimit(
            id="MA-CLEANER",
            title="Line cleaners",
            asks="Non-oxidizing, pH 6.5 to 8.0.",
            citation="310 CMR 73.05",
            source="310 CMR 73.05",
            read_on="2026-11",
            confirmed=True,
            ph_low_tenths=65,
            ph_high_tenths=80,
            bans_oxidisers=True,
        ),
    ),
)


@pytest.mark.parametrize(
    ("ph_low_tenths", "ph_high_tenths", "is_outside"),
    [
        (60, None, False),  # 40 CFR 441.30(b)(2): 6.0 and 8.0 are inside
        (80, None, False),
        (59, None, True),
        (81, None, True),
        (65, 75, False),
        (60, 80, False),
        (55, 70, True),
        (70, 85, True),
        (None, 85, True),
    ],
)
def test_441_30_b_2_band_has_both_its_ends(
    ph_low_tenths: int | None, ph_high_tenths: int | None, is_outside: bool
) -> None:
    found = cleaner_findings([FEDERAL], ph_low_tenths=ph_low_tenths, ph_high_tenths=ph_high_tenths, oxidiser=False)

    assert [one.fault for one in found] == [CleanerFault.PH_OUTSIDE] * is_outside


def test_oxidiser_inside_the_band_is_a_finding_by_itself() -> None:
    (found,) = cleaner_findings([FEDERAL], ph_low_tenths=70, oxidiser=True)

    assert (found.fault, found.rule, found.citation) == (CleanerFault.OXIDISER, "US-441-BMP-2", "40 CFR 441.30(b)(2)")
    assert found.ordinance_title == FEDERAL.title
    assert "stricter reading" in found.standing_of_source


def test_acid_is_a_finding_without_being_an_oxidiser() -> None:
    (found,) = cleaner_findings([FEDERAL], ph_low_tenths=18, ph_high_tenths=25, oxidiser=False)

    assert found.words == "The cleaner's pH 1.8 to 2.5 lies outside the band 6.0 to 8.0."


def test_ph_that_is_not_entered_is_a_gap_not_a_pass() -> None:
    (found,) = cleaner_findings([FEDERAL], ph_low_tenths=None, oxidiser=False)

    assert found.fault is CleanerFault.PH_NOT_KNOWN


@pytest.mark.parametrize(
    ("chemistry", "named"),
    [
        (("Hydrogen peroxide",), ["peroxide"]),
        (("Cumene HYDROPEROXIDES",), ["peroxide"]),
        (("quaternary ammonium", "chlorine dioxide, stabilised", "Iodine"), ["chlorine", "iodine"]),
        (("enzymes", "chlorophyll", "peroxidase"), []),
        ((), []),
    ],
)
def test_named_chemistry_is_found_inside_longer_words(chemistry: tuple[str, ...], named: list[str]) -> None:
    found = cleaner_findings([FEDERAL], ph_low_tenths=70, oxidiser=False, chemistry=chemistry)

    assert [one.words for one in found] == [f"The cleaner contains {word}." for word in named]


def test_each_ordinance_speaks_for_itself() -> None:
    found = cleaner_findings([FEDERAL, MASSACHUSETTS, CONVENTIONS], ph_low_tenths=62, oxidiser=False)

    assert [(one.rule, one.words) for one in found] == [
        ("MA-CLEANER", "The cleaner's pH 6.2 lies outside the band 6.5 to 8.0.")
    ]


def test_limit_set_aside_by_the_district_is_not_held_against_a_cleaner() -> None:
    override = Override(
        ordinance="massachusetts",
        provision="MA-CLEANER",
        reason="The district tests its own list.",
        citation="Letter",
        confirmed=True,
        sets_aside=True,
    )
    district = an_ordinance("district", overrides=(override,))

    assert cleaner_findings([MASSACHUSETTS, district], ph_low_tenths=20, oxidiser=True) == ()


def test_no_ordinance_no_finding() -> None:
    assert cleaner_findings([], ph_low_tenths=None, oxidiser=True, chemistry=("bleach",)) == ()
