"""Words on labels, codes, marks and minima: whose they are, and which is the strictest."""

from __future__ import annotations

from datetime import date

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL
from wasteledger.ordinance import (
    Ordinance,
    container_needs,
    label_elements,
    label_words,
    lowest_fill_marks,
    practices,
    read_ordinance,
    removal_minimum,
    reports,
    scopes,
    sharing_rules,
    shipment_papers,
    uncounted,
    waste_codes,
)
from wasteledger.ordinance.figures import categories
from wasteledger.ordinance.words import ContainerNeed, LabelElement, ReportField, ShippingPaper, Together

SAID = """\
citation = "Section"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
asks = "As it says."
title = "Title"
"""


def a_district(text: str, identity: str = "district") -> Ordinance:
    """An invented district's file with *text* after its head."""
    head = f"""\
schema = 1
[ordinance]
id = "{identity}"
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


def test_labels_with_elements_and_labels_with_lines_are_told_apart() -> None:
    # 6 NYCRR 374-4.2(b), read 2026-11 in an agency's answers: type of amalgam waste, day of the first waste.
    district = a_district(f"""
[[label]]
id = "D-1"
elements = ["stream", "start_date"]
{SAID}
[[label]]
id = "D-2"
streams = ["teeth"]
lines = ["Teeth with amalgam"]
elements = ["hazard"]
{SAID}""")

    def with_elements(stream: str) -> list[str]:
        return [said.provision.id for said in label_elements([district], stream)]

    assert with_elements("traps") == ["D-1"]
    assert with_elements("teeth") == ["D-1", "D-2"]
    assert [said.provision.id for said in label_words([district], "teeth")] == ["D-2"]
    assert label_elements([district], "traps")[0].provision.elements == (LabelElement.STREAM, LabelElement.START_DATE)


def test_needs_of_containers_are_chosen_by_stream() -> None:
    # 310 CMR 73.05 (read 2026-11): sealed, sound containers. Oxford County, Ontario (read 2026-11): airtight.
    wide = a_district(f'[[container]]\nid = "W-1"\nneeds = ["sealed", "sound"]\n{SAID}', "wide")
    near = a_district(
        f'[[container]]\nid = "N-1"\nneeds = ["airtight"]\nnever_add = ["water"]\nstreams = ["traps"]\n{SAID}', "near"
    )

    found = container_needs([wide, near], "traps")

    assert [(said.ordinance.id, said.provision.needs) for said in found] == [
        ("wide", (ContainerNeed.SEALED, ContainerNeed.SOUND)),
        ("near", (ContainerNeed.AIRTIGHT,)),
    ]
    assert found[1].provision.never_add == ("water",)
    assert [said.ordinance.id for said in container_needs([wide, near], "teeth")] == ["wide"]


def test_each_answer_names_its_ordinance() -> None:
    district = a_district(f"""
[[sharing]]
id = "D-1"
streams = ["contact", "non_contact"]
together = "no"
{SAID}
[[shipment]]
id = "D-2"
document = "own_record"
weight = true
{SAID}
[[uncounted]]
id = "D-3"
streams = ["capsules"]
{SAID}
[[report]]
id = "D-4"
report = "notice"
duty = "notify-authority"
fields = ["separator_notice", "owner"]
{SAID}""")

    ((sharing,), (shipment,), (left_out,), (report,)) = (
        sharing_rules([district]),
        shipment_papers([district]),
        uncounted([district]),
        reports([district]),
    )

    assert {said.ordinance.id for said in (sharing, shipment, left_out, report)} == {"district"}
    assert sharing.provision.together is Together.NO
    assert (shipment.provision.document, shipment.provision.weight) == (ShippingPaper.OWN_RECORD, True)
    assert left_out.provision.streams == ("capsules",)
    assert report.provision.fields == (ReportField.SEPARATOR_NOTICE, ReportField.OWNER)


def test_categories_stand_together_by_ordinance_and_rise_by_rank() -> None:
    def a_state(identity: str) -> Ordinance:
        return a_district(
            f'[[category]]\nid = "C-2"\nname = "More"\nrank = 2\nmonth_over_kg = 100\n{SAID}'
            f'[[category]]\nid = "C-1"\nname = "Less"\nrank = 1\nmonth_up_to_kg = 100\n{SAID}',
            identity,
        )

    found = categories([a_state("one"), a_state("two")])

    assert [(said.ordinance.id, said.provision.name) for said in found] == [
        ("one", "Less"),
        ("one", "More"),
        ("two", "Less"),
        ("two", "More"),
    ]


def test_on_a_day_only_what_stands_then_is_said() -> None:
    # Regulation (EU) 2017/852 Art. 10(2a), read 2026-11 as amended: the derogation of some states ends on 30 June 2026.
    union = a_district(
        f'[[practice]]\nid = "D-1"\nin_force_until = 2026-06-30\n{SAID}'
        f'[[practice]]\nid = "D-2"\nin_force_from = 2026-07-01\n{SAID}'
    )

    def asked(on: date | None) -> list[str]:
        return [said.provision.id for said in practices([union], on=on)]

    assert asked(date(2026, 6, 30)) == ["D-1"]
    assert asked(date(2026, 7, 1)) == ["D-2"]
    assert asked(None) == ["D-1", "D-2"]
