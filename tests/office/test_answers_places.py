"""Whose question it is, whose authority an entry answers, and which acts the rules in force forbid."""

from __future__ import annotations

from datetime import date

import pytest

from tests.makers import Watch
from tests.office.asking import asked, lacks, point_with, put_in_force, says
from tests.office.makers import Crew
from wasteledger.model.register import SiteDetails
from wasteledger.office.answers import Sort, State
from wasteledger.office.duties import record_duty_done
from wasteledger.office.filings import file_paper
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.swaps import record_milestone
from wasteledger.office.workplace import site_details

# -- whose question it is ----------------------------------------------------------------------------------------------


def test_a_question_of_germany_is_not_asked_elsewhere(crew: Crew) -> None:
    answer = asked(crew.iris, 32)

    assert answer.state is State.NOT_ASKED
    assert says(answer) == "Not asked here: no ordinance of Germany is in force."
    assert not answer.missing
    put_in_force(crew.mo, "de-abwv-50")
    assert asked(crew.iris, 32).state is State.GAP


@pytest.mark.parametrize(
    ("number", "whose", "own"),
    [
        (6, "the Twin Cities, Minnesota", "us-minnesota-twin-cities"),
        (29, "Denver, Colorado", ""),
        (33, "Vermont", "us-vermont"),
    ],
)
def test_another_places_question_says_whose_it_is(crew: Crew, number: int, whose: str, own: str) -> None:
    answer = asked(crew.iris, number)

    assert answer.note == f"A question of {whose}; no ordinance of that place is in force here."
    assert answer.points
    assert answer.as_json()["note"] == answer.note
    if own:
        put_in_force(crew.mo, own)
        assert not asked(crew.iris, number).note


def test_nothing_is_missing_by_a_question_that_nobody_asks_here(crew: Crew) -> None:
    for number in (6, 29):
        answer = asked(crew.iris, number)
        assert answer.state is State.NOT_ASKED
        assert not answer.missing
        assert says(answer, Sort.ELSEWHERE)
    file_paper(crew.mo, "maintenance_plan", "Binder 9")
    assert asked(crew.iris, 29).state is State.ANSWERED

    put_in_force(crew.mo, "us-minnesota-twin-cities")
    weekly = asked(crew.iris, 6)
    assert weekly.state is State.PARTLY
    assert weekly.missing


def test_what_was_told_to_another_authority_was_not_told_to_this_one(crew: Crew, watch: Watch) -> None:
    put_in_force(crew.mo, "river", _RIVER)
    brook = _RIVER.replace("river-district", "de-brook").replace('"R-1"', '"B-1"').replace("River code", "Brook code")
    put_in_force(crew.mo, "brook", brook)
    watch.wait(hours=1)
    record_duty_done(crew.mo, "R-1")
    assert "No notice to an authority is noted." in lacks(asked(crew.iris, 32))
    assert "was told" not in says(asked(crew.iris, 32))

    told = record_duty_done(crew.mo, "B-1")
    point = point_with(asked(crew.iris, 32), "The authority was told on 2 Mar 2026 (notify authority).")
    assert point.seqs == (told.seq,)

    watch.wait(days=10)
    late = asked(crew.iris, 32, since=date(2026, 3, 10))
    assert "The authority was told on 2 Mar 2026 (notify authority), before the period." in says(late)


def test_each_authority_has_its_own_one_time_report(crew: Crew, watch: Watch) -> None:
    """A report to a district is none to the control authority of 40 CFR 441.50, nor the other way round."""
    put_in_force(crew.mo, "us-washington-king-county")
    river = _RIVER.replace('"notify-authority"', '"one-time-report"')
    put_in_force(crew.mo, "river", river)
    watch.wait(hours=1)
    to_district = record_duty_done(crew.mo, "R-1", document="Sent by mail")

    answer = asked(crew.iris, 28)

    shown = point_with(answer, "River District sewer code, River District: noted as filed on 2 Mar 2026, Sent by mail")
    assert (shown.sort, shown.seqs) == (Sort.SHOWN, (to_district.seq,))
    lacking = [one for one in answer.missing if "not noted as filed" in one.says]
    assert [one.says.split(", ")[0] for one in lacking] == [
        "US federal dental office rule (40 CFR Part 441)",
        "King County",
    ]
    assert lacking[1].says.endswith(": not noted as filed, which KING-01 or KING-02 asks.")
    assert [one.do for one in lacking] == [
        "wasteledger milestone one_time_report_filed",
        "wasteledger done us-washington-king-county:KING-01",
    ]

    filed = record_milestone(crew.mo, "one_time_report_filed")
    answer = asked(crew.iris, 28)
    assert not [one for one in answer.missing if "not noted as filed" in one.says]
    assert [one.seqs for one in answer.points if "noted as filed on" in one.says].count((filed.seq,)) == 2
    assert point_with(answer, "River District").seqs == (to_district.seq,)


def test_the_federal_report_is_none_to_a_district(crew: Crew) -> None:
    put_in_force(crew.mo, "river", _RIVER.replace('"notify-authority"', '"one-time-report"'))
    record_milestone(crew.mo, "one_time_report_filed")

    gap = point_with(asked(crew.iris, 28), "River District sewer code, River District: not noted as filed, which R-1")
    assert (gap.sort, gap.do) == (Sort.MISSING, "wasteledger done river-district:R-1")


def test_where_no_ordinance_asks_a_report_none_is_missing(crew: Crew) -> None:
    retire_line(crew.mo, "ordinance", "us-federal-dental")
    filed = record_milestone(crew.mo, "one_time_report_filed")

    answer = asked(crew.iris, 28)

    assert "No ordinance in force here asks for one." in says(answer, Sort.SHOWN)
    assert point_with(answer, "Noted as filed on 2 Mar 2026.").seqs == (filed.seq,)
    assert lacks(answer) == "The owner is not entered."


# -- what is forbidden -------------------------------------------------------------------------------------------------


def test_what_is_forbidden_is_named_whole_and_nothing_else(crew: Crew) -> None:
    put_in_force(crew.mo, "us-federal-generator")
    put_in_force(crew.mo, "river", _RIVER)

    found = says(asked(crew.iris, 34), Sort.SHOWN).splitlines()

    assert sorted(found) == [
        "Forbidden: Jars, no water added, no fixer added (River code 7, advice, not law).",
        "Forbidden: Line cleaners, no oxidisers, no bleach, no chlorine, no iodine, no peroxide (40 CFR 441.30(b)(2)).",
        "Forbidden: No rinsing (River code 2).",
        "Forbidden: No waste amalgam to the sewer (40 CFR 441.30(b)(1)).",
    ]


def test_without_a_rule_that_forbids_nothing_is_named(crew: Crew) -> None:
    retire_line(crew.mo, "ordinance", "us-federal-dental")

    assert "No rule in force here names what is never to be done." in lacks(asked(crew.iris, 34))


def test_rules_that_speak_of_others_are_not_named(crew: Crew) -> None:
    assert "40 CFR 441.30(b)(1)" in says(asked(crew.iris, 34))
    with crew.iris.reading() as reader:
        site = site_details(reader)
    register_line(crew.mo, "elm", SiteDetails(**site.model_dump() | {"wastewater": "septic"}))

    assert "441.30" not in says(asked(crew.iris, 34))


_SAID = """
asks = "As it says."
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""
_RIVER = f"""
schema = 1
[ordinance]
id = "river-district"
title = "River District sewer code"
authority = "River District"
level = "local"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[[rule]]
id = "R-1"
title = "Tell the district"
citation = "River code 1"
duty = "notify-authority"
kind = "deadline"
trigger = ["in_force"]
due = {{ days = 30 }}
{_SAID}
[[practice]]
id = "R-2"
title = "No rinsing"
citation = "River code 2"
forbids = true
{_SAID}
[[practice]]
id = "R-3"
title = "Not before noon, a habit"
citation = "River code 3"
{_SAID}
[[container]]
id = "R-4"
title = "Jars"
citation = "River code 7"
force = "advice"
needs = ["closed"]
never_add = ["water", "fixer"]
{_SAID}
"""
