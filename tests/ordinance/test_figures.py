"""Words on labels, codes, marks and minima: whose they are, and which is the strictest."""

from __future__ import annotations

from datetime import date

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL
from wasteledger.ordinance import (
    Ordinance,
    label_words,
    lowest_fill_marks,
    practices,
    read_ordinance,
    removal_minimum,
    scopes,
    waste_codes,
)

SAID = """\
citation = "Section"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
asks = "As it says."
title = "Title"
"""


def a_district(text: str) -> Ordinance:
    """An invented district's file with *text* after its head."""
    head = """\
schema = 1
[ordinance]
id = "district"
title = "District"
authority = "District"
level = "local"
version = "1"
dated_on = 2026-01-01
source = "Invented for a test"
"""
    return read_ordinance(head + text)


def test_labels_are_chosen_by_stream() -> None:
    district = a_district(f"""
[[label]]
id = "D-1"
lines = ["Mercury", "Toxic"]
{SAID}
[[label]]
id = "D-2"
streams = ["teeth"]
lines = ["Teeth with amalgam"]
{SAID}""")

    def ids(stream: str) -> list[str]:
        return [said.provision.id for said in label_words([FEDERAL, CONVENTIONS, district], stream)]

    assert ids("traps") == ["OFFICE-LABEL", "D-1"]
    assert ids("teeth") == ["OFFICE-LABEL", "D-1", "D-2"]
    assert label_words([district], "teeth")[0].provision.lines == ("Mercury", "Toxic")


def test_lowest_marks_win_and_name_their_ordinance() -> None:
    district = a_district(f'[[fill_marks]]\nid = "D-1"\nplan_at_permille = 800\nclose_at_permille = 900\n{SAID}')

    marks = lowest_fill_marks([CONVENTIONS, district])

    assert marks is not None
    plan, close = marks
    assert (plan.provision.plan_at_permille, plan.ordinance.id) == (750, "office-conventions")
    assert (close.provision.close_at_permille, close.ordinance.id) == (900, "district")
    assert lowest_fill_marks([FEDERAL]) is None


@pytest.mark.parametrize(
    ("installed_on", "percent"),
    [
        # New York, 6 NYCRR 374-4 (read 2026-11): 99 percent for units placed from 12 May 2006, 95 before.
        (date(2006, 5, 11), "95"),
        (date(2006, 5, 12), "99"),
        (date(2020, 1, 1), "99"),
    ],
)
def test_removal_minimum_follows_the_day_of_installation(installed_on: date, percent: str) -> None:
    district = a_district(f"""
[[removal]]
id = "D-1"
at_least_percent = 99
installed_from = 2006-05-12
{SAID}
[[removal]]
id = "D-2"
at_least_percent = 95
installed_before = 2006-05-12
{SAID}""")

    found = removal_minimum([FEDERAL, district], installed_on)

    assert found is not None
    assert str(found.provision.at_least_percent) == percent


def test_span_of_installation_ends_before_its_last_day() -> None:
    text = f'[[removal]]\nid = "D-1"\nat_least_percent = 95\ninstalled_before = 2006-05-12\n{SAID}'

    assert removal_minimum([a_district(text)], date(2006, 5, 11)) is not None
    assert removal_minimum([a_district(text)], date(2006, 5, 12)) is None


def test_nothing_in_force_says_nothing() -> None:
    assert removal_minimum([], date(2026, 1, 1)) is None
    assert label_words([], "traps") == ()
    assert waste_codes([FEDERAL]) == ()


def test_waste_codes_practices_and_scopes_name_their_ordinance() -> None:
    # 40 CFR 261.24, Table 1 (read 2026-11 in an agency's answer): mercury is D009.
    district = a_district(f'[[waste_code]]\nid = "D-1"\ncode = "D009"\n{SAID}')

    (code,) = waste_codes([FEDERAL, district])

    assert (code.provision.code, code.ordinance.id) == ("D009", "district")
    assert "US-441-BMP-1" in [said.provision.id for said in practices([FEDERAL, district])]
    assert [said.provision.covers_septic for said in scopes([FEDERAL, district])] == [False]
