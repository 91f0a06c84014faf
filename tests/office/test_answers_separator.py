"""Answers about the separator: its file, its inspections against manual and week, its level, exchanges and repairs."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.makers import Watch
from tests.office.asking import asked, lacks, point_with, put_in_force, says, unrecorded
from tests.office.makers import Crew
from tests.office.separator_days import TODAY, entered, exchanged, inspected, repaired
from wasteledger.model.register import SiteDetails
from wasteledger.office.answers import Sort, State
from wasteledger.office.filings import file_paper
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.workplace import site_details

# -- what it is --------------------------------------------------------------------------------------------------------


def test_a_practice_without_a_separator_has_gaps_all_the_way(crew: Crew) -> None:
    retire_line(crew.mo, "separator", "SEP")
    put_in_force(crew.mo, "us-minnesota-twin-cities")

    for number in (*range(1, 10), 30):
        assert "No separator is in the register." in lacks(asked(crew.iris, number)), number
        assert asked(crew.iris, number).state is State.GAP


def test_the_equipment_file_says_what_is_entered_and_what_is_not(crew: Crew) -> None:
    assert lacks(asked(crew.iris, 1)).startswith(
        "SEP: make, model, day of installation, standard, chairs served not entered."
    )
    line = entered(
        crew.mo,
        make="Invented",
        model="A",
        installed_on=date(2021, 5, 3),
        standard="ISO 11143:2008",
        chairs_served=6,
        removal_permille=990,
        chairs_all=True,
    )

    answer = asked(crew.iris, 1)

    assert answer.state is State.ANSWERED
    point = point_with(answer, "Separator (Invented A), installed 3 May 2021, ISO 11143:2008, holds back 99 %")
    assert point.says.endswith("holds back 99 %, as entered, serves 6 chairs.")
    assert "no certificate is noted" in lacks(asked(crew.iris, 2))
    assert point.seqs == (line.seq,)
    assert point_with(answer, "every chair with amalgam drains to it").seqs == (line.seq,)


def test_more_amalgam_chairs_than_the_separator_serves_are_pointed_out(crew: Crew) -> None:
    with crew.iris.reading() as reader:
        site = site_details(reader)
    here = register_line(crew.mo, "elm", SiteDetails(**site.model_dump() | {"amalgam_chairs": 4}))
    line = entered(crew.mo, chairs_served=3)

    point = point_with(asked(crew.iris, 1), "4 chairs with amalgam, 3 on a separator, as entered.")

    assert point.sort is Sort.MISSING
    assert point.seqs == (here.seq, line.seq)


def test_a_device_that_was_replaced_whole_makes_the_file_old(crew: Crew) -> None:
    new = repaired(crew.mo, date(2026, 2, 2), action="replaced", make_name="Other", model="B")

    point = point_with(asked(crew.iris, 1), "replaced whole on 2 Feb 2026 (Other B)")
    assert (point.sort, point.seqs) == (Sort.MISSING, (new.seq,))

    entered(crew.mo, make="Other", model="B")
    assert "replaced whole" not in says(asked(crew.iris, 1))


def test_certificate_and_manual_may_be_in_the_register_too(crew: Crew) -> None:
    line = entered(crew.mo, certificate_on_file=True, manual_on_file=True)

    for number in (2, 9):
        answer = asked(crew.iris, number)
        assert answer.state is State.ANSWERED
        assert answer.seqs == (line.seq,)


def test_water_that_ran_past_is_named_by_day(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 2, 3))
    assert "1 inspection in the period, none noted water running past it." in says(asked(crew.iris, 3))
    seen = inspected(crew.kim, date(2026, 2, 10), bypass_seen=True, follow_up="Ask the fitter.")

    point = point_with(asked(crew.iris, 3), "water was seen running past it on 10 Feb 2026")

    assert (point.sort, point.seqs) == (Sort.MISSING, (seen.seq,))


@pytest.mark.parametrize(
    ("changes", "gaps"),
    [
        ({}, ["who runs it is not entered", "who answers for it is not entered"]),
        ({"run_by": "practice", "responsible": "Mo"}, []),
        ({"run_by": "shared", "responsible": "Mo"}, ["no agreement about its care is noted"]),
        ({"run_by": "landlord", "responsible": "The house", "agreement_on_file": True}, []),
        ({"run_by": "landlord"}, ["who answers for it is not entered", "no agreement about its care is noted"]),
    ],
)
def test_who_looks_after_it(crew: Crew, changes: dict[str, Any], gaps: list[str]) -> None:
    if changes:
        entered(crew.mo, **changes)

    answer = asked(crew.iris, 30)

    assert [one.says for one in answer.missing] == [f"SEP: {gap}." for gap in gaps]


def test_a_contract_on_a_shared_separator_is_its_agreement(crew: Crew) -> None:
    entered(crew.mo, run_by="shared", responsible="Mo")
    file_paper(crew.mo, "contract", "Binder 1", about="the carrier")  # names no separator: it may be anybody's
    gap = asked(crew.iris, 30).missing
    assert [one.says for one in gap] == ["SEP: no agreement about its care is noted."]
    assert gap[0].do.startswith("wasteledger paper contract --separator SEP")

    filed = file_paper(crew.mo, "contract", "Binder 2", separator="SEP")

    answer = asked(crew.iris, 30)
    assert not answer.missing
    assert point_with(answer, "Agreement on SEP on file in Binder 2").seqs == (filed.seq,)


# -- inspections -------------------------------------------------------------------------------------------------------


def test_distances_between_inspections_against_the_manual(crew: Crew) -> None:
    """From 1 January: 7, 9, 19 and, up to 2 March, 25 days; an interval of 10 days is passed twice."""
    entered(crew.mo, inspect_every_days=10)
    days = [date(2026, 1, 8), date(2026, 1, 17), date(2026, 2, 5)]
    seqs = [inspected(crew.kim, day).seq for day in days]

    answer = asked(crew.iris, 5)

    made = point_with(
        answer,
        "3 inspections in the period, never more than 25 days without one. Its manual asks for one every 10 days",
    )
    assert made.seqs == tuple(seqs)
    late = point_with(
        answer, "twice longer than that without one: 17 Jan 2026 to 5 Feb 2026, 5 Feb 2026 to 2 Mar 2026."
    )
    assert late.sort is Sort.MISSING
    assert late.seqs == (seqs[1], seqs[2])


def test_the_last_inspection_before_the_period_begins_the_count(crew: Crew) -> None:
    """25 January to 6 February is 12 days, counted from the entry before the period."""
    entered(crew.mo, date(2026, 1, 15), inspect_every_days=30)
    before = inspected(crew.kim, date(2026, 1, 25))
    inspected(crew.kim, date(2026, 2, 6))

    answer = asked(crew.iris, 5, since=date(2026, 2, 1), until=date(2026, 2, 10))

    assert "1 inspection in the period, never more than 12 days without one." in says(answer)
    assert before.seq not in answer.seqs
    assert answer.state is State.ANSWERED


def test_what_was_entered_after_the_period_is_not_taken_for_known_in_it(crew: Crew) -> None:
    entered(crew.mo, TODAY, inspect_every_days=30)

    assert "is not entered" in lacks(asked(crew.iris, 5, until=date(2026, 2, 10)))
    assert "Its manual asks for one every 30 days, as entered." in lacks(asked(crew.iris, 5))


def test_exactly_the_interval_is_not_longer_than_it(crew: Crew) -> None:
    entered(crew.mo, inspect_every_days=25)
    inspected(crew.kim, date(2026, 1, 26))
    inspected(crew.kim, date(2026, 2, 20))

    assert asked(crew.iris, 5).state is State.ANSWERED


def test_an_interval_that_is_not_entered_is_a_gap(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 2, 20))

    answer = asked(crew.iris, 5)

    assert lacks(answer) == "SEP: the manual's interval of inspection is not entered."
    assert answer.state is State.PARTLY
    assert asked(crew.iris, 5, until=date(2026, 2, 1)).state is State.GAP


def test_weeks_with_and_without_a_line_agree_with_the_calendar_of_iso_8601(crew: Crew) -> None:
    """Counted a second way: by the week numbers of ISO 8601 as Python's standard library has them."""
    days = [date(2026, 1, 5) + timedelta(days=number) for number in (0, 4, 7, 20, 21, 33, 50)]
    for day in days:
        inspected(crew.kim, day)
    # Whole weeks from Monday 5 January to Sunday 1 March: numbers 2 to 9 of 2026.
    looked = {day.isocalendar().week for day in days}
    without = [date.fromisocalendar(2026, week, 1) for week in range(2, 10) if week not in looked]

    answer = asked(crew.iris, 6)

    assert f"an inspection in {8 - len(without)} of 8 working weeks." in says(answer)
    for monday in without:
        assert f"{monday.day} {monday:%b %Y}" in unrecorded(answer)
    assert len(without) == 2


def test_a_week_in_which_nobody_works_is_not_asked_for(crew: Crew) -> None:
    with crew.iris.reading() as reader:
        site = site_details(reader)
    closed = ((date(2026, 2, 9), date(2026, 2, 15)),)
    register_line(crew.mo, "elm", SiteDetails(**site.model_dump() | {"closures": closed}))
    inspected(crew.kim, date(2026, 2, 4))

    answer = asked(crew.iris, 6, since=date(2026, 2, 2), until=date(2026, 2, 15))

    assert says(answer) == "SEP: an inspection in 1 of 1 working week."


def test_a_period_without_a_whole_week_has_none_to_show(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 2, 27))

    answer = asked(crew.iris, 6, since=date(2026, 2, 24))

    assert unrecorded(answer) == "SEP: no whole working week lies in the period."
    parts = point_with(answer, "part-weeks at an end of the period are not counted")
    assert parts.says.endswith(": 24 Feb 2026 to 1 Mar 2026, one in it; 2 Mar 2026 to 2 Mar 2026, none in it.")


# -- its unit ----------------------------------------------------------------------------------------------------------


def test_the_level_is_the_last_one_read_since_the_exchange(crew: Crew) -> None:
    assert "SEP: no level was read." in lacks(asked(crew.iris, 7))
    inspected(crew.kim, date(2026, 1, 20), level=300)
    read = inspected(crew.kim, date(2026, 2, 3), level=625)
    assert point_with(asked(crew.iris, 7), "level 62.5 % of its mark on 3 Feb 2026.").seqs == (read.seq,)
    new = exchanged(crew.mo, date(2026, 2, 10))

    gap = point_with(asked(crew.iris, 7), "no level was read since the unit was exchanged on 10 Feb 2026.")

    assert (gap.sort, gap.seqs) == (Sort.MISSING, (new.seq,))


def test_a_level_of_long_ago_is_no_level_of_the_period(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 1, 20), level=300)

    answer = asked(crew.iris, 7, since=date(2026, 2, 1))

    assert "level 30 % of its mark on 20 Jan 2026; none was read in the period." in lacks(answer)


def test_a_full_unit_and_its_exchange(crew: Crew) -> None:
    full = inspected(crew.kim, date(2026, 2, 3), level=1000)
    inspected(crew.kim, date(2026, 2, 4), level=1010)
    for number in (7, 8):
        gap = point_with(asked(crew.iris, number), "and no exchange since")
        assert gap.sort is Sort.MISSING
    new = exchanged(crew.mo, date(2026, 2, 10))

    answer = asked(crew.iris, 8)

    point = point_with(answer, "read as 100 % full on 3 Feb 2026, exchanged 7 days later.")
    assert (point.sort, point.seqs) == (Sort.SHOWN, (full.seq, new.seq))
    assert point_with(answer, "unit exchanged on 10 Feb 2026.").seqs == (new.seq,)
    assert "no exchange since" not in says(asked(crew.iris, 7))


def test_the_manuals_months_run_from_the_last_exchange_and_the_31st_falls_on_a_short_months_end(crew: Crew) -> None:
    entered(crew.mo, date(2026, 1, 15), replace_unit_every_months=1)
    exchanged(crew.mo, date(2026, 1, 31))
    assert "those were over on 28 Feb 2026." in lacks(asked(crew.iris, 8))
    assert "the next by 28 Feb 2026." in says(asked(crew.iris, 8, until=date(2026, 2, 28)))
    entered(crew.mo, replace_unit_every_months=None)

    assert "the manual's interval of exchange is not entered." in lacks(asked(crew.iris, 8))


# -- repairs -----------------------------------------------------------------------------------------------------------


def test_a_malfunction_stays_open_until_a_repair(crew: Crew) -> None:
    assert says(asked(crew.iris, 27)) == "No repair is recorded in the period."
    found = inspected(crew.kim, date(2026, 2, 3), result="malfunction")
    open_one = point_with(asked(crew.iris, 27), "malfunction found on 3 Feb 2026, and no repair recorded since.")
    assert open_one.seqs == (found.seq,)
    done = repaired(crew.mo, date(2026, 2, 10))

    answer = asked(crew.iris, 27)

    assert answer.state is State.ANSWERED
    point = point_with(answer, "SEP repaired on 10 Feb 2026 by Robin Fitter (Invented A): New seal.")
    assert point.seqs == (done.seq,)


def test_a_repair_without_make_or_model_says_so(crew: Crew) -> None:
    repaired(crew.mo, date(2026, 2, 10), make_name="", model="")

    assert lacks(asked(crew.iris, 27)) == "The repair of 10 Feb 2026 names no make and no model."


def test_who_worked_on_it(crew: Crew, watch: Watch) -> None:
    repaired(crew.mo, date(2026, 2, 10))
    exchanged(crew.mo, date(2026, 2, 11))
    watch.wait(days=1)

    point = point_with(asked(crew.iris, 26), "Robin Fitter: worked on the separator, twice.")

    assert len(point.seqs) == 2


def test_the_maintenance_book_counts_all_three_kinds(crew: Crew) -> None:
    put_in_force(crew.mo, "de-abwv-50")
    inspected(crew.kim, date(2026, 2, 3))
    repaired(crew.mo, date(2026, 2, 10))
    exchanged(crew.mo, date(2026, 2, 11))

    answer = asked(crew.iris, 32)

    assert "Inspections, exchanges and repairs in the journal: 3 in the period." in says(answer)
    assert "No proof of recycling came in the period." in lacks(answer)
