"""Worksheets: every question that a rule lists is asked, gaps are gaps, and each answer names its entries."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.makers import (
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_line,
    a_receipt,
    a_released_container,
    a_repair,
    a_separator,
    a_site,
    a_swap,
    a_weighing,
    an_inspection,
    an_opening,
    make_clinic,
)
from tests.office.places import CONVENTIONS, FEDERAL, a_place, put_in_force
from wasteledger.errors import Unknown
from wasteledger.model.entries import Milestone, PickupReleased, ReleasedContainer
from wasteledger.model.filings import (
    DutyDone,
    OtherWaste,
    PaperFiled,
    PaperKind,
    Statement,
    StatementTopic,
    Topic,
    Training,
)
from wasteledger.model.register import CleanerDetails, FacilityDetails
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.worksheet_answers import QUESTIONS
from wasteledger.office.worksheet_lines import HEADING, Line, Part, State, Worksheet
from wasteledger.office.worksheets import (
    NoSuchPeriod,
    NotAFiling,
    certification,
    one_time_report,
    shipment,
    yearly_amounts,
)
from wasteledger.ordinance.paper_words import ReportField
from wasteledger.resources import find

OWN_RULES = """
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
id = "RD-1"
duty = "certify"
kind = "deadline"
title = "Certification of the year before"
asks = "By 31 March the office certifies the year before."
trigger = ["in_force", "duty_done"]
recurs = true
due = { each = "03-31", opens = "01-01" }
citation = "River District 5-6"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-2"
duty = "report-amounts"
kind = "deadline"
title = "Amounts of the year"
asks = "By 15 December the office states its amounts."
trigger = ["in_force", "duty_done"]
recurs = true
due = { each = "12-15" }
citation = "River District 5-7"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-3"
duty = "notify-authority"
kind = "deadline"
title = "Notice of a separator"
asks = "A new separator is told within 30 days."
trigger = "separator_installed"
due = { days = 30 }
citation = "River District 5-8"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[report]]
id = "RD-4"
title = "What the certification states"
asks = "Separators, the notice of them, and who was trained."
report = "certification"
duty = "certify"
fields = ["facility_name", "separators", "separator_notice", "trained_staff", "identifiers"]
citation = "River District 5-9"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false
confirmed_note = "Heard by telephone."
[[report]]
id = "RD-5"
title = "What the amounts state"
asks = "Amounts and chairs."
report = "amounts"
duty = "report-amounts"
fields = ["amalgam_made_mg", "amalgam_shipped_mg", "chairs"]
citation = "River District 5-10"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[shipment]]
id = "RD-6"
title = "Weight of what leaves"
asks = "A bill of lading goes along, and the weight is recorded."
document = "bill_of_lading"
weight = true
names = ["shipped_on", "collector_name", "facility_address", "contents"]
citation = "River District 5-11"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false
confirmed_note = "Heard by telephone."
"""


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on Monday 2 March 2026, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def line(sheet: Worksheet, name: str) -> Line:
    """The line of that name; there must be one."""
    found = sheet.find(name)
    assert found is not None, name
    return found


def says(sheet: Worksheet, name: str) -> str:
    """What the line of that name answers, in one text."""
    return " ".join(line(sheet, name).answer.says)


def state(sheet: Worksheet, name: str) -> State:
    """How the answer of that line stands."""
    return line(sheet, name).answer.state


FULL_SITE: dict[str, Any] = {
    "address": ("1 Elm Street", "Springfield"),
    "mailing_address": ("Box 7", "Springfield"),
    "phone": "555-0101",
    "owner": "Élan Owner",
    "operator": "Mo Example",
    "contact": "Mo Example",
    "identifiers": (("District account", "D-1"),),
    "chairs": 2,
    "amalgam_chairs": 1,
    "discharged_before_2017_07_14": True,
    "maintenance_by": "Robin Fitter (invented)",
    "only_emergencies": False,
}


# -- the one-time report -----------------------------------------------------------------------------------------------


def test_the_federal_list_is_asked_whole_where_it_is_asked_here(clinic: Clinic) -> None:
    """40 CFR 441.50(a)(3)(ii): names and addresses, owner and operator, contact, chairs, those with amalgam,
    separators, whether discharging before 14 July 2017, two certifications, who maintains.
    """
    sheet = one_time_report(a_place(clinic, FEDERAL))

    assert sheet.heading == HEADING == "Worksheet for your own filing"
    assert {one.name for one in sheet.lines} == {
        "facility_name",
        "physical_address",
        "mailing_address",
        "contact",
        "owner",
        "operator",
        "chairs",
        "amalgam_chairs",
        "separators",
        "discharged_before_2017_07_14",
        "certifies_separator",
        "certifies_practices",
        "maintenance_by",
        "filed",
    }
    assert [(one.citation, one.is_asked_here) for one in sheet.asked_by] == [("40 CFR 441.50(a)(3)", True)]
    assert all(one.asked_by == ("US-441-REPORT",) for one in sheet.lines if one.name != "filed")
    assert any("local authority decides" in note for note in sheet.notes)
    assert (sheet.seq, sheet.digest) == (clinic.entries()[-1].seq, clinic.entries()[-1].digest)


def test_without_a_list_in_force_the_federal_one_stands_in_and_is_named_so(clinic: Clinic) -> None:
    sheet = one_time_report(a_place(clinic, CONVENTIONS))

    assert [(one.ordinance, one.is_asked_here) for one in sheet.asked_by] == [(FEDERAL, False)]
    assert "No ordinance in force lists what a one-time report of this practice states" in sheet.notes[0]
    assert "US federal dental office rule" in sheet.notes[0]


def test_what_is_not_entered_is_a_gap_and_what_is_entered_names_its_entry(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    bare = one_time_report(place)
    gaps = {one.name for one in bare.gaps}
    site = clinic.record(a_site(**FULL_SITE))
    separator = clinic.record(a_separator(make="Invented", model="One", installed_on=date(2019, 5, 6), chairs_served=2))

    full = one_time_report(place)

    assert gaps == {
        "physical_address",
        "mailing_address",
        "contact",
        "owner",
        "operator",
        "amalgam_chairs",
        "separators",
        "discharged_before_2017_07_14",
        "maintenance_by",
    }
    assert "make NOT ENTERED, model NOT ENTERED, installed NOT ENTERED" in says(bare, "separators")
    assert full.gaps == ()
    assert says(full, "owner") == "Élan Owner"
    assert says(full, "mailing_address") == "Box 7, Springfield"
    assert says(full, "discharged_before_2017_07_14") == "Yes."
    assert line(full, "owner").answer.seqs == (site.seq,)
    assert "make Invented, model One, installed 2019, on 6 May 2019, chairs served 2." in says(full, "separators")
    assert line(full, "separators").answer.seqs == (separator.seq,)


def test_what_only_a_person_can_say_stays_with_the_person(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_separator(standard="ISO 11143:2008", removal_permille=990))
    inspected = clinic.record(an_inspection("malfunction"))
    stated = clinic.record(Statement(topic=StatementTopic.TRAPS_KEPT_FROM_SINKS, holds=True))
    not_so = clinic.record(
        Statement(topic=StatementTopic.AMALGAM_KEPT_FROM_OTHER_BINS, holds=False, why="Found in\na bin.")
    )

    sheet = one_time_report(place)

    assert state(sheet, "certifies_separator") is State.YOURS
    assert "SEP: standard as entered: ISO 11143:2008." in says(sheet, "certifies_separator")
    assert "SEP: removal as entered: 99 %." in says(sheet, "certifies_separator")
    assert "1 inspection from 3 Mar 2025 to 2 Mar 2026, the last on 2 Mar 2026." in says(sheet, "certifies_separator")
    assert "a malfunction is open since 2 Mar 2026" in says(sheet, "certifies_separator")
    assert inspected.seq in line(sheet, "certifies_separator").answer.seqs
    practices = says(sheet, "certifies_practices")
    assert "Traps kept from sinks: stated, on 2 Mar 2026." in practices
    assert "Amalgam kept from other bins: stated not to hold, because: Found in a bin, on 2 Mar 2026." in practices
    assert "Not stated: no prohibited act." in practices
    # The band of 40 CFR 441.30(b)(2), with both its ends.
    assert (
        "Cleaner Neutral cleaner: nothing that is entered of it lies outside what US-441-BMP-2 "
        "(40 CFR 441.30(b)(2)) asks: pH from 6.0 to 8.0, both included, no oxidisers, nothing with bleach"
    ) in practices
    assert {stated.seq, not_so.seq} < set(line(sheet, "certifies_practices").answer.seqs)


def test_a_rule_that_speaks_against_a_cleaner_is_named(clinic: Clinic) -> None:
    """40 CFR 441.30(b)(2): bleach is one of the named examples."""
    place = a_place(clinic, FEDERAL)
    clinic.record(a_line("strong", CleanerDetails(name="Strong", oxidiser=True, chemistry=("bleach",))))

    assert "40 CFR 441.30(b)(2)" in says(one_time_report(place), "certifies_practices")


def test_a_cleaner_whose_ph_is_not_entered_stays_open(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_line("plain", CleanerDetails(name="Plain", oxidiser=False)))

    assert "Cleaner Plain: The cleaner's pH is not entered; the band is 6.0 to 8.0." in says(
        one_time_report(place), "certifies_practices"
    )


def test_without_a_rule_on_cleaners_in_force_that_is_said(clinic: Clinic) -> None:
    sheet = one_time_report(a_place(clinic))

    assert "Cleaner Neutral cleaner: no rule in force limits cleaners." in says(sheet, "certifies_practices")


def test_an_office_that_sees_amalgam_in_emergencies_only_states_less(clinic: Clinic) -> None:
    """40 CFR 441.50(a)(3)(i): name, addresses, contact, owner, operator, and the certification."""
    place = a_place(clinic, FEDERAL)
    clinic.record(a_site(only_emergencies=True))

    sheet = one_time_report(place)

    assert {one.name for one in sheet.lines} == {
        "facility_name",
        "physical_address",
        "mailing_address",
        "contact",
        "owner",
        "operator",
        "certifies_emergency_only",
        "filed",
    }
    assert state(sheet, "certifies_emergency_only") is State.YOURS
    assert says(sheet, "certifies_emergency_only") == "The register says so."
    assert any("what an office states that handles amalgam is left out" in note for note in sheet.notes)
    assert any("leaves this practice out, but for one-time-report" in note for note in sheet.notes)
    assert sheet.asked_by[0].is_asked_here


def test_an_ordinance_that_leaves_the_practice_out_asks_nothing_of_it(clinic: Clinic) -> None:
    """40 CFR 441.10(e): no wastewater to a public treatment works."""
    place = a_place(clinic, FEDERAL)
    clinic.record(a_site(wastewater="septic"))

    sheet = one_time_report(place)

    assert [(one.ordinance, one.is_asked_here) for one in sheet.asked_by] == [(FEDERAL, False)]
    assert any("leaves this practice out, wholly: the evacuation lines drain to a septic" in one for one in sheet.notes)


ONLY_YOU = (
    "Whether some did before 14 July 2017, only you can state; then enter it in the site's line of the "
    "register (discharged_before_2017_07_14)."
)


def test_the_first_wastewater_is_shown_with_its_note_and_answers_nothing_by_itself(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    first = clinic.record(Milestone(what="first_discharge", note="Done in 2016;\nnoted when this ledger was begun."))

    sheet = one_time_report(place)

    assert line(sheet, "discharged_before_2017_07_14").answer.says == (
        "The first wastewater is recorded for 2 Mar 2026 (its note: “Done in 2016; noted when this ledger was begun”).",
        ONLY_YOU,
    )
    assert state(sheet, "discharged_before_2017_07_14") is State.YOURS
    assert line(sheet, "discharged_before_2017_07_14").answer.seqs == (first.seq,)
    # 40 CFR 441.50(a)(1)(ii): 90 days from the first wastewater, so 31 May 2026.
    assert [(one.rule, one.due_on, one.trigger_seq) for one in sheet.days] == [
        ("US-441-01", date(2026, 5, 31), first.seq)
    ]
    clinic.record(Milestone(what="one_time_report_filed", note="Done in 2021."))
    copy = clinic.record(PaperFiled(what=PaperKind.ONE_TIME_REPORT, place="Binder 2"))
    filed = one_time_report(place)
    assert filed.days == ()
    assert says(filed, "filed") == (
        "2 Mar 2026: recorded as filed (its note: “Done in 2021”). 2 Mar 2026: a copy is noted to lie at Binder 2."
    )
    clinic.record(a_correction(copy))
    assert "Binder 2" not in says(one_time_report(place), "filed")


def test_chairs_of_the_rooms_that_do_not_add_up_are_told(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    assert says(one_time_report(place), "chairs") == "2"
    clinic.record(a_site(chairs=5))

    assert says(one_time_report(place), "chairs") == "5 The rooms of the register have 2."


def test_who_answers_for_a_separator_maintains_it_where_nobody_else_is_named(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    named = clinic.record(a_separator(responsible="Elm Estates (invented)"))

    sheet = one_time_report(place)

    assert says(sheet, "maintenance_by") == "SEP: Elm Estates (invented) answers for it."
    assert line(sheet, "maintenance_by").answer.seqs == (named.seq,)


@pytest.mark.parametrize(("run_by", "words"), [("shared", "shared with others"), ("landlord", "run by the landlord")])
def test_a_separator_that_others_run_is_told_with_its_agreement(clinic: Clinic, run_by: str, words: str) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_site(maintenance_by="Robin Fitter (invented)"))
    clinic.record(a_separator(run_by=run_by))
    bare = one_time_report(place)
    clinic.record(a_separator(run_by=run_by, responsible="Elm Estates (invented)"))
    # With the carrier, so no agreement on the separator.
    clinic.record(PaperFiled(what=PaperKind.CONTRACT, place="Binder 1"))
    unagreed = one_time_report(place)
    paper = clinic.record(PaperFiled(what=PaperKind.CONTRACT, place="Binder 2", separator="SEP"))

    agreed = one_time_report(place)

    assert line(bare, "maintenance_by").answer.says == (
        "Robin Fitter (invented)",
        f"SEP: {words}; NOT ENTERED who answers for it (responsible); NO AGREEMENT ON FILE.",
    )
    assert says(unagreed, "maintenance_by").endswith(
        f"SEP: {words}; Elm Estates (invented) answers for it; NO AGREEMENT ON FILE."
    )
    assert [state(one, "maintenance_by") for one in (bare, unagreed)] == [State.GAP, State.GAP]
    assert says(agreed, "maintenance_by").endswith("; agreement on file at Binder 2.")
    assert state(agreed, "maintenance_by") is State.FILLED
    assert paper.seq in line(agreed, "maintenance_by").answer.seqs


def test_an_agreement_may_be_entered_in_the_register_alone(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_separator(run_by="landlord", responsible="Elm Estates (invented)", agreement_on_file=True))

    assert says(one_time_report(place), "maintenance_by") == (
        "SEP: run by the landlord; Elm Estates (invented) answers for it; agreement on file."
    )
    clinic.record(a_separator(run_by="practice", responsible="Kim Example"))
    assert says(one_time_report(place), "maintenance_by") == "SEP: run by the practice; Kim Example answers for it."


def test_no_separator_is_a_gap(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_separator(retired=True))

    sheet = one_time_report(place)

    assert says(sheet, "separators") == "No separator is in the register."
    assert state(sheet, "separators") is State.GAP
    assert says(sheet, "certifies_separator") == "No separator is in the register."


# -- amounts -----------------------------------------------------------------------------------------------------------


def left(clinic: Clinic, *containers: ReleasedContainer) -> int:
    """Pickup P-1 booked and released; the entry of the release."""
    refs = tuple(one.container for one in containers)
    for ref in refs:
        clinic.record(a_closing(ref))
    booking = a_booking(containers=refs)
    clinic.record(booking)
    return clinic.record(
        PickupReleased(
            pickup="P-1",
            carrier=booking.carrier,
            facility=booking.facility,
            containers=containers,
            taken_by="Dana Driver",
        )
    ).seq


def test_the_amounts_of_a_year_keep_weighed_and_estimated_apart(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    opened = clinic.record(an_opening())
    weighed = clinic.record(a_weighing())
    released = left(clinic, a_released_container())
    receipt = clinic.record(a_receipt(received_on=date(2026, 3, 2), final_facility="Invented Retort, Springfield"))
    clinic.record(an_opening("C-2"))
    clinic.record(a_swap("1-SE", "C-2"))

    sheet = yearly_amounts(place, 2026)

    made = line(sheet, "amalgam_made_mg")
    assert made.answer.says[0].startswith(
        "In all, as it lies in the containers (debris, trap bodies and deposits): about "
    )
    assert made.answer.says[0].endswith(", estimate, of which 50.00 g weighed.")
    assert made.answer.says[1] == "Container C-1: 50.00 g ± 0.13 g (95 %), weighed."
    assert made.answer.says[2].endswith(", estimate.")
    assert any(
        said.startswith("Debris of 1 swap alone, without the bodies of the traps: about ") for said in made.answer.says
    )
    assert {opened.seq, weighed.seq} < set(made.answer.seqs)
    by_name = {one.name: one for one in made.answer.amounts}
    assert by_name["made in C-1"].amount.basis == "weighed"
    assert by_name["made in C-2"].amount.basis == "estimate"
    assert by_name["made"].amount.basis == "estimate"
    assert by_name["on_site"].amount == by_name["made in C-2"].amount
    shipped = line(sheet, "amalgam_shipped_mg")
    assert shipped.answer.says == (
        "In all, as stated when it left: 50.00 g ± 0.13 g (95 %), weighed.",
        "Pickup P-1: 50.00 g ± 0.13 g (95 %), weighed; the facility states 50 g received.",
    )
    assert shipped.answer.seqs == (released, receipt.seq)
    assert says(sheet, "pickups") == "2 Mar 2026: pickup P-1, C-1; no proof of recycling yet."
    assert "Invented swiftcart, 1 Example Road; 555-0100 (P-1)." in says(sheet, "carriers")
    assert "Pickup P-1: the receipt names Invented Retort, Springfield as where it was recycled" in says(
        sheet, "facilities"
    )
    assert any("not over: this counts up to 2 Mar 2026" in note for note in sheet.notes)
    assert any("no ordinance in force lists" in note.lower() for note in sheet.notes)
    assert (sheet.since, sheet.until) == (date(2026, 1, 1), date(2026, 3, 2))


def test_a_year_without_anything_says_so(clinic: Clinic) -> None:
    place = a_place(clinic)

    sheet = yearly_amounts(place, 2025)

    assert says(sheet, "amalgam_shipped_mg") == "No pickup left in the period."
    assert "In all, as it lies in the containers (debris, trap bodies and deposits): nothing." in says(
        sheet, "amalgam_made_mg"
    )
    assert "This ledger begins on 1 Jan 2026; what was before is not in it." in sheet.notes
    assert not any("not over" in note for note in sheet.notes)


@pytest.mark.parametrize("year", [2027, 0, -1, 10_000])
def test_a_year_that_has_not_begun_is_refused(clinic: Clinic, year: int) -> None:
    with pytest.raises(NoSuchPeriod, match="has not begun") as refused:
        yearly_amounts(a_place(clinic), year)

    assert refused.value.hint


def test_what_an_ordinance_asks_of_the_year_is_added_with_its_day(clinic: Clinic) -> None:
    """A day in December looks back on its own year, so the one of 2026 stands on the sheet of 2026 alone."""
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)

    sheet = yearly_amounts(place, 2026)

    assert line(sheet, "amalgam_made_mg").asked_by == ("RD-5",)
    assert line(sheet, "chairs").asked_by == ("RD-5",)
    assert line(sheet, "pickups").asked_by == ()
    assert [(one.rule, one.due_on) for one in sheet.days] == [("RD-2", date(2026, 12, 15))]
    assert yearly_amounts(place, 2025).days == ()


# -- certification -----------------------------------------------------------------------------------------------------


def test_a_certification_looks_back_on_the_year_before_its_day(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)

    sheet = certification(place, "RD-1")

    (day,) = sheet.days
    assert (day.opens_on, day.due_on) == (date(2026, 1, 1), date(2026, 3, 31))
    assert (sheet.since, sheet.until) == (date(2025, 1, 1), date(2025, 12, 31))
    assert any("looking back on 2025" in note for note in sheet.notes)
    assert [one.provision for one in sheet.asked_by] == ["RD-1", "RD-4"]
    assert sheet.asked_by[1].standing_of_source == "NOT CONFIRMED: Heard by telephone."
    assert {one.name for one in sheet.lines} == {
        "facility_name",
        "separators",
        "separator_notice",
        "trained_staff",
        "identifiers",
        "filed",
    }
    assert sheet.title == "Certification of the year before"


def test_its_period_can_be_said_and_must_be_one(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)

    sheet = certification(place, "river-district:rd-1", since=date(2026, 1, 1), until=date(2026, 6, 30))

    assert (sheet.since, sheet.until) == (date(2026, 1, 1), date(2026, 3, 2))
    assert not any("own reading" in note for note in sheet.notes)
    for since, until in ((date(2026, 3, 3), None), (date(2026, 2, 2), date(2026, 2, 1))):
        with pytest.raises(NoSuchPeriod):
            certification(place, "RD-1", since=since, until=until)


def test_trainings_and_notices_are_answered_with_their_entries(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    this_year = {"since": date(2026, 1, 1), "until": date(2026, 12, 31)}
    bare = certification(place, "RD-1", **this_year)
    trained = clinic.record(Training(people=("kim", "mo"), topics=(Topic.HANDLING, Topic.LINE_CLEANERS)))
    told = clinic.record(
        DutyDone(duty="notify-authority", ordinance="river-district", rule="RD-3", separator="SEP", document="L-3")
    )

    sheet = certification(place, "RD-1", **this_year)

    # Iris only reads, so she is not missed.
    assert says(bare, "trained_staff") == "No training in the period is recorded for Kim Example, Mo Example."
    assert state(bare, "trained_staff") is State.GAP
    assert "no notice is recorded" in says(bare, "separator_notice")
    assert state(bare, "separator_notice") is State.GAP
    assert says(sheet, "trained_staff") == "2 Mar 2026: Kim Example, Mo Example, in handling, line cleaners."
    assert line(sheet, "trained_staff").answer.seqs == (trained.seq,)
    assert "recorded as told on 2 Mar 2026, L-3." in says(sheet, "separator_notice")
    assert line(sheet, "separator_notice").answer.seqs == (told.seq,)
    assert state(sheet, "separator_notice") is State.FILLED


def test_what_was_sent_before_is_named_and_moves_the_day(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    done = clinic.record(
        DutyDone(duty="certify", ordinance="river-district", rule="RD-1", due_on=date(2026, 3, 31), document="Copy 4")
    )
    clinic.record(DutyDone(duty="certify", ordinance="elsewhere", rule="X-1"))
    clinic.record(DutyDone(duty="report-amounts", ordinance="river-district", rule="RD-2"))

    sheet = certification(place, "RD-1")

    assert says(sheet, "filed") == (
        "2 Mar 2026: recorded as done (RD-1 of river-district), for the day 31 Mar 2026, Copy 4."
    )
    assert line(sheet, "filed").answer.seqs == (done.seq,)
    assert [one.due_on for one in sheet.days] == [date(2027, 3, 31)]
    assert (sheet.since, sheet.until) == (date(2026, 1, 1), date(2026, 3, 2))


def test_a_rule_that_lists_nothing_gets_our_own_list(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    clinic.record(a_separator(installed_on=date(2026, 2, 16)))

    sheet = certification(place, "RD-3")

    assert any("the list is our own" in note for note in sheet.notes)
    assert [(one.rule, one.due_on) for one in sheet.days] == [("RD-3", date(2026, 3, 18))]
    assert (sheet.since, sheet.until) == (date(2025, 3, 3), date(2026, 3, 2))
    assert line(sheet, "certifies_practices").part is Part.STATEMENTS


def test_a_rule_is_found_by_its_clause_and_a_day_that_does_not_run_is_said(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)

    sheet = certification(place, "40 CFR 441.50(a)(4)")

    assert sheet.asked_by[0].provision == "US-441-02"
    assert sheet.days == ()
    assert "No day runs now: it is counted from the transfer of ownership." in sheet.notes


def test_what_is_no_filing_is_refused_with_those_that_are(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    with pytest.raises(NotAFiling, match="asks for nothing that is sent") as no_filing:
        certification(place, "US-441-03")
    with pytest.raises(Unknown, match="no-such") as unknown:
        certification(place, "no-such")

    assert "US-441-01" in (no_filing.value.hint or "")
    assert "US-441-01" in (unknown.value.hint or "")


LETTER = """
schema = 1
[ordinance]
id = "river-letter"
title = "Letter of the River District"
authority = "River District"
level = "local"
version = "1"
dated_on = 2025-06-01
source = "Invented for a test"
[[override]]
ordinance = "river-district"
provision = "RD-1"
due = { each = "04-30", opens = "01-01" }
reason = "A letter gives another month."
citation = "Letter of 1 June 2025"
confirmed = false
confirmed_note = "Heard by telephone."
"""


def test_a_nearer_word_on_the_rule_is_shown_with_its_doubt(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    put_in_force(clinic, "river-letter", LETTER)

    sheet = certification(place, "RD-1")

    said = (
        "Changed by Letter of the River District (Letter of 1 June 2025): A letter gives another month. "
        "NOT CONFIRMED: Heard by telephone."
    )
    assert sheet.asked_by[0].note == said
    assert [(one.due_on, one.override) for one in sheet.days] == [(date(2026, 4, 30), said)]


def test_a_rule_that_a_nearer_word_sets_aside_is_refused_with_that_word(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    put_in_force(
        clinic, "river-letter", LETTER.replace('due = { each = "04-30", opens = "01-01" }', "set_aside = true")
    )

    for name in ("RD-1", "river-district:RD-1", "River District 5-6"):
        with pytest.raises(NotAFiling, match=r"Set aside by Letter of the River District .* NOT CONFIRMED"):
            certification(place, name)


def test_two_rules_of_one_name_are_asked_back(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    put_in_force(clinic, "hill-district", OWN_RULES.replace("river-district", "hill-district").replace("River", "Hill"))

    with pytest.raises(Unknown, match="Several rules") as refused:
        certification(place, "RD-1")

    assert "hill-district:RD-1 or river-district:RD-1" in (refused.value.hint or "")
    assert certification(place, "hill-district:RD-1").asked_by[0].ordinance == "hill-district"


# -- shipment ----------------------------------------------------------------------------------------------------------


def test_the_papers_of_a_pickup_get_whole_units_and_say_where_they_come_from(clinic: Clinic) -> None:
    """Instructions to EPA Form 8700-22, item 11: 1.46 kg is 1 K, and 3.22 lb is 3 P."""
    place = a_place(clinic, "us-federal-generator")
    clinic.record(an_opening())
    clinic.record(an_opening("C-2"))
    heavy = a_released_container(gross_mg=1_610_000, net_mg=1_460_000, lower_mg=1_459_870, upper_mg=1_460_130)
    guessed = a_released_container(
        "C-2",
        basis="estimate",
        gross_mg=None,
        net_mg=230_000,
        uncertainty_mg=230_000,
        lower_mg=80_000,
        upper_mg=540_000,
        estimated_mg=230_000,
        statement="about 230 g, between 80 g and 540 g (95 %), estimate",
    )
    released = left(clinic, heavy, guessed)

    sheet = shipment(place, "P-1")

    assert "In whole units, from a weighing: 1 K or 3 P." in says(sheet, "container C-1")
    assert "In whole units, from an estimate: 1 P." in says(sheet, "container C-2")
    assert "Content: about 230 g, between 80 g and 540 g (95 %), estimate." in says(sheet, "container C-2")
    assert "In whole units, from an estimate: 2 K or 4 P." in says(sheet, "in_all")
    assert line(sheet, "container C-1").answer.seqs == (released,)
    assert sheet.seq == released
    # 40 CFR 261.24 names the codes for waste that fails a test; nobody's waste has them by that alone.
    assert "D009" in says(sheet, "codes")
    assert "No test of an extract is recorded. Whoever makes the waste determines whether it is hazardous" in says(
        sheet, "codes"
    )
    assert state(sheet, "codes") is State.YOURS
    assert state(sheet, "classing") is State.YOURS
    assert "C-1 may hold a pound of mercury or more in one package" in says(sheet, "classing")
    assert "C-2" not in says(sheet, "classing")
    assert any("49 CFR 173.22" in note for note in sheet.notes)
    assert says(sheet, "day") == "It left on 2 Mar 2026; no document number is recorded."
    assert "No receipt came yet." in says(sheet, "received")


def test_what_is_asked_of_larger_generators_only_is_not_asked_of_a_small_one(clinic: Clinic) -> None:
    """40 CFR 262.14(a) and 262.20: one of 100 kg a month or less sends no manifest by the federal text."""
    place = a_place(clinic, "us-federal-generator")
    clinic.record(an_opening())
    clinic.record(a_booking())
    for month in ("2026-02", "2026-03"):
        clinic.record(OtherWaste(month=month, name="Spent fixer", made_mg=1_000_000))
    small = shipment(place, "P-1")
    clinic.record(OtherWaste(month="2026-03", name="Spent fixer", made_mg=150_000_000))

    larger = shipment(place, "P-1")

    assert says(small, "paper") == "No ordinance in force names one."
    assert "asked of SQG and LQG only; by the monthly count the category here is VSQG" in small.notes[1]
    assert says(larger, "paper").startswith("a manifest (US-RCRA-MANIFEST of ")
    assert larger.asked_by[0].condition == "asked of SQG and LQG only, as here since 2026-03-01"


def test_what_left_is_judged_by_the_category_of_its_month(clinic: Clinic) -> None:
    """February alone was typed in: it tells the category of now, and not that of March, in which the pickup left."""
    place = a_place(clinic, "us-federal-generator")
    clinic.record(an_opening())
    clinic.record(OtherWaste(month="2026-02", name="Spent fixer", made_mg=1_000_000))
    left(clinic, a_released_container())

    unknown = shipment(place, "P-1")
    clinic.record(OtherWaste(month="2026-03", name="Spent fixer", made_mg=150_000_000))
    larger = shipment(place, "P-1")

    asked = "asked of SQG and LQG only; the category of March 2026 is not known"
    assert unknown.asked_by[0].condition == asked
    assert says(unknown, "paper").startswith("a manifest (US-RCRA-MANIFEST of ")
    assert f" A{asked[1:]}." in says(unknown, "paper")
    assert not any("by the monthly count" in note for note in unknown.notes)
    condition = larger.asked_by[0].condition
    assert condition.startswith("asked of SQG and LQG only, as here in ")
    assert condition.endswith("March 2026")
    assert f" A{condition[1:]}." in says(larger, "paper")


def test_a_shipment_of_a_small_month_names_that_month(clinic: Clinic) -> None:
    place = a_place(clinic, "us-federal-generator")
    clinic.record(an_opening())
    clinic.record(OtherWaste(month="2026-03", name="Spent fixer", made_mg=0))
    left(clinic, a_released_container())

    sheet = shipment(place, "P-1")

    assert says(sheet, "paper") == "No ordinance in force names one."
    assert any(
        "by the monthly count the category in the half year to March 2026 is VSQG" in note for note in sheet.notes
    )


def test_a_proof_of_recycling_comes_back_and_goes_not_along(clinic: Clinic) -> None:
    place = a_place(clinic)
    proof = OWN_RULES.replace('"bill_of_lading"', '"recycling_proof"').replace(
        "A bill of lading goes along, and the weight is recorded.", "For each shipment there is a proof."
    )
    put_in_force(clinic, "river-district", proof)
    clinic.record(an_opening())
    clinic.record(a_weighing())
    clinic.record(a_booking())
    draft = shipment(place, "P-1")
    clinic.record(a_closing())
    booking = a_booking()
    clinic.record(
        PickupReleased(
            pickup="P-1",
            carrier=booking.carrier,
            facility=booking.facility,
            containers=(a_released_container(),),
            taken_by="Dana Driver",
        )
    )
    gone = shipment(place, "P-1")
    receipt = clinic.record(a_receipt(received_on=date(2026, 3, 2), proves="both"))

    back = shipment(place, "P-1")

    assert says(draft, "paper") == "No ordinance in force names one."
    assert line(draft, "paper").asked_by == ()
    assert says(draft, "comes_back").startswith("proof of recycling (RD-6 of River District sewer code")
    assert says(draft, "comes_back").endswith("there is a proof. It has not left, so none can be there yet.")
    assert line(draft, "comes_back").asked_by == ("RD-6",)
    assert says(gone, "comes_back").endswith("Receipt: none recorded yet. Proof of recycling: none recorded yet.")
    assert [state(one, "comes_back") for one in (draft, gone, back)] == [State.FILLED, State.GAP, State.FILLED]
    assert says(back, "comes_back").endswith("Proof of recycling: received on 2 Mar 2026.")
    assert line(back, "comes_back").answer.seqs == (receipt.seq,)


def test_an_own_record_is_kept_and_goes_not_along(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES.replace('"bill_of_lading"', '"own_record"'))
    clinic.record(an_opening())
    clinic.record(a_booking())

    sheet = shipment(place, "P-1")

    assert says(sheet, "paper") == says(sheet, "comes_back") == "No ordinance in force names one."
    assert says(sheet, "own_record").startswith("the practice's own record (RD-6 of ")


def test_a_return_of_the_receiver_is_among_what_comes_back(clinic: Clinic) -> None:
    """Hazardous Waste (England and Wales) Regulations 2005, reg. 54: a return for each quarter."""
    place = a_place(clinic, "uk-england")
    clinic.record(an_opening())
    clinic.record(a_booking())

    sheet = shipment(place, "P-1")

    assert says(sheet, "paper").startswith("a consignment note (")
    assert "The receiver's quarterly return (UK-02 of " in says(sheet, "comes_back")


def test_a_pickup_that_has_not_left_is_a_draft(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening())
    clinic.record(a_swap())
    booked = clinic.record(a_booking())

    sheet = shipment(place, "P-1")

    assert sheet.notes[0].startswith("A draft")
    assert says(sheet, "day") == "Planned for 9 Mar 2026; it has not left."
    assert line(sheet, "day").answer.seqs == (booked.seq,)
    assert says(sheet, "paper") == "No ordinance in force names one."
    assert "estimate" in says(sheet, "container C-1")
    with pytest.raises(NotThereYet):
        shipment(place, "P-9")


def test_a_weight_that_a_rule_wants_is_a_gap_where_nothing_was_weighed(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", OWN_RULES)
    clinic.record(an_opening())
    clinic.record(a_swap())
    clinic.record(a_booking())
    unweighed = shipment(place, "P-1")
    clinic.record(a_weighing())

    weighed = shipment(place, "P-1")

    assert state(unweighed, "container C-1") is State.GAP
    assert "its weight is wanted (RD-6): weigh it before it leaves" in says(unweighed, "container C-1")
    assert state(weighed, "container C-1") is State.FILLED
    paper = says(weighed, "paper")
    assert paper.startswith("a bill of lading (RD-6 of River District sewer code, River District 5-11; NOT CONFIRMED")
    assert line(weighed, "day").asked_by == ("RD-6",)
    assert line(weighed, "carrier").asked_by == ("RD-6",)
    assert line(weighed, "in_all").asked_by == ("RD-6",)


def test_a_facility_without_an_address_is_a_gap(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(a_line("smelter", FacilityDetails(name="Invented Recycling Works")))
    clinic.record(an_opening())
    booking = a_booking()
    clinic.record(booking.model_copy(update={"facility": booking.facility.model_copy(update={"address": ()})}))

    sheet = shipment(place, "P-1")

    assert state(sheet, "facility") is State.GAP
    assert "ADDRESS NOT ENTERED" in says(sheet, "facility")


# -- all of them -------------------------------------------------------------------------------------------------------


def test_every_field_that_a_file_may_list_has_a_question_and_an_answer(clinic: Clinic) -> None:
    fields = ", ".join(f'"{one}"' for one in ReportField)
    every = OWN_RULES.replace(
        '["facility_name", "separators", "separator_notice", "trained_staff", "identifiers"]', f"[{fields}]"
    )
    place = a_place(clinic)
    put_in_force(clinic, "river-district", every)

    sheet = certification(place, "RD-1")

    assert set(QUESTIONS) == set(ReportField)
    shown = {one.name for one in sheet.lines} - {"filed"}
    assert shown == {one.value for one in ReportField} - {"certifies_emergency_only"}
    assert all(one.answer.says for one in sheet.lines)


def test_a_worksheet_says_no_verdict_and_reads_back_from_json(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.watch.now = datetime(2026, 3, 2, 22, 0, tzinfo=UTC)
    clinic.record(a_repair())

    found = one_time_report(place).as_json()

    assert found["heading"] == HEADING
    assert found["gaps"]
    assert "compliant" not in str(found).lower()
    assert [one["name"] for one in found["lines"] if one["answer"]["state"] == "gap"] == found["gaps"]


def test_the_shipped_federal_file_still_lists_the_report() -> None:
    assert "[[report]]" in find(f"ordinances/{FEDERAL}.toml").read_text("utf-8")
