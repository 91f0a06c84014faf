"""Days that US states set for amalgam waste, each by its shipped file, held against independent arithmetic.

Texts as read in November 2026: 6 NYCRR 374-4 in agency questions and answers; 310 CMR 73.05 (casetext.com) and MassDEP,
How to comply; N.J.A.C. 7:14A-21.12 and NJDEP (state.nj.us/dep/dwq/dap.htm); Mich. Admin. Code R 338.11817
(law.cornell.edu); 10 V.S.A. 7110 and Vermont DEC (dec.vermont.gov/node/17001). The E-numbers count the worked examples
of that reading.

The reference that we did not make: numpy's ``datetime64`` for days, months and weekdays.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL, shipped
from tests.outside.numpy_days import days_later, weekday, years_later
from wasteledger.ordinance import (
    Duty,
    Event,
    Interval,
    Manual,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    Unit,
    obligations,
    retention,
    undated,
)
from wasteledger.ordinance.circumstances import Circumstances, out_of_scope
from wasteledger.ordinance.citations import same_rule
from wasteledger.ordinance.cleaners import cleaner_findings
from wasteledger.ordinance.figures import removal_minimum
from wasteledger.ordinance.words import ContainerNeed, LabelElement, Regime, Specialty

NEW_YORK = shipped("us-new-york")
MASSACHUSETTS = shipped("us-massachusetts")
NEW_JERSEY = shipped("us-new-jersey")
MICHIGAN = shipped("us-michigan")
VERMONT = shipped("us-vermont")
MINNESOTA = shipped("us-minnesota")


def the_obligation(ordinances: Sequence[Ordinance], rule: str, *triggers: Trigger) -> Obligation:
    """The one obligation that *rule* gives."""
    (found,) = [one for one in obligations(ordinances, triggers) if one.rule == rule]
    return found


def begun(ordinance: Ordinance, on: date) -> Trigger:
    """The ordinance was put in force here."""
    return Trigger(Event.IN_FORCE, on, "site", 2, ordinance=ordinance.id)


def done(duty: Duty, on: date, ordinance: Ordinance, answers_on: date | None = None) -> Trigger:
    """A duty was recorded as done for one authority."""
    return Trigger(Event.DUTY_DONE, on, "site", 30, duty=duty.value, ordinance=ordinance.id, answers_on=answers_on)


# -- New York ----------------------------------------------------------------------------------------------------------


def test_e33_new_york_container_leaves_within_a_year() -> None:
    """6 NYCRR 374-4.2(b): one year from the day on which waste was first placed in the container."""
    on = date(2026, 4, 10)
    found = the_obligation([NEW_YORK, CONVENTIONS], "NY-01", Trigger(Event.CONTAINER_FIRST_WASTE, on, "container A"))

    assert found.due_on == date(2027, 4, 10) == years_later(on, 1)
    assert (weekday(on), weekday(found.due_on)) == ("Fri", "Sat")
    assert found.advised_on == date(2027, 4, 9)
    assert found.binds
    assert [other.rule for other in found.also] == ["OFFICE-CONTAINER-12M"]


def test_e34_new_york_notice_of_a_new_separator() -> None:
    """6 NYCRR 374-4: 30 days from service, for what was placed in service from 12 May 2006 on."""
    on = date(2026, 8, 20)
    found = the_obligation([NEW_YORK], "NY-02", Trigger(Event.SEPARATOR_INSTALLED, on, "separator 1"))
    before = obligations([NEW_YORK], [Trigger(Event.SEPARATOR_INSTALLED, date(2006, 5, 11), "separator 1")])

    assert found.due_on == date(2026, 9, 19) == days_later(on, 30)
    assert (weekday(on), weekday(found.due_on)) == ("Thu", "Sat")
    assert before == ()


def test_new_york_papers_three_years_and_the_file_as_long_as_the_device() -> None:
    """6 NYCRR 374-4.2(c), (d)."""
    for record in (Record.PICKUP, Record.RECEIPT, Record.RETAINING_UNIT_REPLACEMENT, Record.SEPARATOR_REPAIR):
        kept = retention([NEW_YORK], record, date(2026, 8, 20)).longest
        assert kept is not None
        assert kept.due_on == date(2029, 8, 20) == years_later(date(2026, 8, 20), 3)
    file = retention([NEW_YORK], Record.SEPARATOR_FILE, date(2026, 8, 20))
    assert file.longest is None
    assert [(one.rule, one.is_gap) for one in file.lasting] == [("NY-FILE", False)]


@pytest.mark.parametrize(
    ("installed_on", "percent"), [(date(2006, 5, 11), 95), (date(2006, 5, 12), 99), (date(2026, 8, 20), 99)]
)
def test_new_york_removal_by_day_of_installation(installed_on: date, percent: int) -> None:
    """6 NYCRR 374-4: 99 percent for units placed from 12 May 2006, 95 for earlier ones."""
    said = removal_minimum([NEW_YORK], installed_on)

    assert said is not None
    assert said.provision.at_least_percent == percent


def test_new_york_container_and_label() -> None:
    """6 NYCRR 374-4.2(b): air-tight, leak-proof, sound, closed; the type of waste and the day of the first waste."""
    (container,), (label,) = NEW_YORK.containers, NEW_YORK.labels

    assert set(container.needs) == {
        ContainerNeed.AIRTIGHT,
        ContainerNeed.LEAK_PROOF,
        ContainerNeed.SOUND,
        ContainerNeed.CLOSED,
    }
    assert (label.lines, set(label.elements)) == ((), {LabelElement.STREAM, LabelElement.START_DATE})
    assert NEW_YORK.regime is Regime.STATE_PROGRAMME


# -- Massachusetts -----------------------------------------------------------------------------------------------------


def test_e35_massachusetts_first_certification_then_31_march_of_even_years() -> None:
    """310 CMR 73: 60 days from the start; 2027 is odd, so the next is 2028, and then 2030."""
    opened = date(2026, 10, 5)
    start = [Trigger(Event.FIRST_DISCHARGE, opened, "site", 3), begun(MASSACHUSETTS, opened)]

    first = the_obligation([MASSACHUSETTS], "MA-01", *start)
    beside = the_obligation([MASSACHUSETTS], "MA-02", *start)
    certified = done(Duty.CERTIFY, date(2026, 12, 1), MASSACHUSETTS)
    after = obligations([MASSACHUSETTS], [*start, certified])
    renewed = done(Duty.CERTIFY, date(2028, 3, 20), MASSACHUSETTS)
    later = the_obligation([MASSACHUSETTS], "MA-02", *start, certified, renewed)

    assert first.due_on == date(2026, 12, 4) == days_later(opened, 60)
    assert (weekday(opened), weekday(first.due_on)) == ("Mon", "Fri")
    # Two filings, though both come from 310 CMR 73: neither stands in for the other.
    assert first.binds
    assert beside.binds
    assert MASSACHUSETTS.get("MA-01").citation != MASSACHUSETTS.get("MA-02").citation
    assert [(one.rule, one.due_on, one.binds) for one in after] == [("MA-02", date(2028, 3, 31), True)]
    assert weekday(date(2028, 3, 31)) == "Fri"
    assert later.due_on == date(2030, 3, 31)


def test_a_certification_that_says_which_day_it_answers() -> None:
    """310 CMR 73: a renewal of October 2027 is too early to be taken for March 2028, unless it says so."""
    start = begun(MASSACHUSETTS, date(2026, 10, 5))
    early = done(Duty.CERTIFY, date(2027, 10, 1), MASSACHUSETTS)
    said = done(Duty.CERTIFY, date(2027, 10, 1), MASSACHUSETTS, answers_on=date(2028, 3, 31))

    assert the_obligation([MASSACHUSETTS], "MA-02", start, early).due_on == date(2028, 3, 31)
    assert the_obligation([MASSACHUSETTS], "MA-02", start, said).due_on == date(2030, 3, 31)


def test_e36_massachusetts_records_for_five_years() -> None:
    """310 CMR 73.06(2)."""
    made_on = date(2026, 10, 5)
    kept = retention([MASSACHUSETTS], Record.SEPARATOR_INSPECTION, made_on).longest

    assert kept is not None
    assert (kept.rule, kept.due_on) == ("MA-03", date(2031, 10, 5))
    assert kept.due_on == years_later(made_on, 5)
    assert weekday(kept.due_on) == "Sun"


def test_e45_five_years_outlast_the_federal_three() -> None:
    """40 CFR 441.50(b) and 310 CMR 73.06(2) together: the longest binds, and the shorter is named beside it."""
    made_on = date(2026, 10, 5)
    for record in (Record.SEPARATOR_INSPECTION, Record.RETAINING_UNIT_REPLACEMENT, Record.PICKUP):
        kept = retention([FEDERAL, MASSACHUSETTS], record, made_on).longest

        assert kept is not None
        assert (kept.rule, kept.due_on, kept.binds) == ("MA-03", date(2031, 10, 5), True)
        assert [(other.rule, other.due_on) for other in kept.also] == [("US-441-07", date(2029, 10, 5))]
        assert (years_later(made_on, 5), years_later(made_on, 3)) == (kept.due_on, kept.also[0].due_on)


def test_massachusetts_clean_outs_go_by_the_maker() -> None:
    """310 CMR 73.05: the maker's interval; without it there is a gap, and no day is made up."""
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2026, 10, 5), "separator 1")
    by_manual = Trigger(
        Event.SEPARATOR_INSTALLED, date(2026, 10, 5), "separator 1", manual=Manual(None, Interval(1, Unit.MONTHS))
    )

    assert [gap.rule for gap in undated([MASSACHUSETTS], [installed]) if gap.is_gap] == ["MA-CLEAN-OUT"]
    assert the_obligation([MASSACHUSETTS], "MA-CLEAN-OUT", by_manual).due_on == date(2026, 11, 5)


@pytest.mark.parametrize(
    ("ph_tenths", "rules"), [(64, {"MA-CLEANERS"}), (65, set()), (80, set()), (81, {"MA-CLEANERS"})]
)
def test_massachusetts_band_is_narrower_than_the_federal_one(ph_tenths: int, rules: set[str]) -> None:
    """310 CMR 73.05: pH 6.5 to 8.0, both included; 40 CFR 441.30(b)(2) begins at 6 and ends at 8 as well."""
    found = cleaner_findings([FEDERAL, MASSACHUSETTS], ph_low_tenths=ph_tenths, oxidiser=False)

    assert {one.rule for one in found} - {"US-441-BMP-2"} == rules
    assert ("US-441-BMP-2" in {one.rule for one in found}) == (not 60 <= ph_tenths <= 80)


@pytest.mark.parametrize(("ordinance", "percent"), [(MASSACHUSETTS, 98), (MINNESOTA, 99)], ids=["MassDEP", "MPCA"])
def test_removal_of_a_state_is_above_the_federal_95(ordinance: Ordinance, percent: int) -> None:
    """MassDEP, How to comply: 98 percent; MPCA, list criteria: 99 percent. 40 CFR 441.30(a)(1)(i): 95."""
    said = removal_minimum([FEDERAL, ordinance], date(2026, 8, 20))

    assert said is not None
    assert said.ordinance.id == ordinance.id
    assert said.provision.at_least_percent == percent


# -- New Jersey --------------------------------------------------------------------------------------------------------


def test_e37_new_jersey_window_after_the_year() -> None:
    """N.J.A.C. 7:14A-21.12 and NJDEP: for 2026, from 1 January to 31 March 2027."""
    start = begun(NEW_JERSEY, date(2026, 5, 1))
    found = the_obligation([NEW_JERSEY], "NJ-01", start)
    in_the_window = done(Duty.CERTIFY, date(2027, 1, 1), NEW_JERSEY)
    before_it = done(Duty.CERTIFY, date(2026, 12, 31), NEW_JERSEY)

    assert (found.opens_on, found.due_on) == (date(2027, 1, 1), date(2027, 3, 31))
    assert weekday(found.due_on) == "Wed"
    assert the_obligation([NEW_JERSEY], "NJ-01", start, in_the_window).due_on == date(2028, 3, 31)
    assert the_obligation([NEW_JERSEY], "NJ-01", start, before_it).due_on == date(2027, 3, 31)


def test_new_jersey_leaves_out_endodontics_and_keeps_prosthodontics() -> None:
    """N.J.A.C. 7:14A-21.12 against 40 CFR 441.10(c): the two lists differ both ways."""

    def who_leaves_out(specialty: Specialty) -> set[str]:
        only = Circumstances(specialties=frozenset({specialty}))
        return {one.ordinance.id for one in out_of_scope([FEDERAL, NEW_JERSEY, VERMONT], only)}

    assert who_leaves_out(Specialty.ENDODONTICS) == {"us-new-jersey", "us-vermont"}
    assert who_leaves_out(Specialty.PROSTHODONTICS) == {"us-federal-dental"}
    assert who_leaves_out(Specialty.ORTHODONTICS) == {"us-federal-dental", "us-new-jersey"}


def test_new_jersey_term_is_marked_as_from_memory() -> None:
    """The term of records was not read; it is counted, and said to be not confirmed."""
    kept = retention([NEW_JERSEY], Record.PICKUP, date(2026, 10, 5)).longest

    assert kept is not None
    assert kept.due_on == years_later(date(2026, 10, 5), 5)
    assert not kept.confirmed


# -- Michigan, Vermont -------------------------------------------------------------------------------------------------


def test_michigan_records_for_three_years_and_the_weight_is_recorded() -> None:
    """R 338.11817(3)."""
    kept = retention([MICHIGAN], Record.PICKUP, date(2026, 11, 10)).longest

    assert kept is not None
    assert (kept.rule, kept.due_on) == ("MI-01", date(2029, 11, 10))
    assert kept.due_on == years_later(date(2026, 11, 10), 3)
    assert [one.weight for one in MICHIGAN.shipments] == [True]


def test_vermont_records_of_the_previous_three_years() -> None:
    """10 V.S.A. 7110: shipments among them."""
    kept = retention([VERMONT], Record.PICKUP, date(2026, 11, 10)).longest

    assert kept is not None
    assert (kept.rule, kept.due_on) == ("VT-RECORDS", years_later(date(2026, 11, 10), 3))


@pytest.mark.parametrize(
    ("in_force_on", "due_on", "day"),
    [
        (date(2026, 5, 1), date(2027, 1, 31), "Sun"),
        (date(2027, 1, 31), date(2027, 1, 31), "Sun"),
        (date(2027, 2, 1), date(2029, 1, 31), "Wed"),
    ],
)
def test_vermont_certifies_by_31_january_of_odd_years(in_force_on: date, due_on: date, day: str) -> None:
    """10 V.S.A. 7110 and Vermont DEC: every second year; 2028 is even."""
    found = the_obligation([VERMONT], "VT-01", begun(VERMONT, in_force_on))

    assert found.due_on == due_on
    assert weekday(found.due_on) == day == due_on.strftime("%a")


def test_vermont_renews_the_site_id_each_april() -> None:
    """Vermont DEC: yearly, by 1 April."""
    start = begun(VERMONT, date(2026, 5, 1))
    renewed = done(Duty.RENEW_REGISTRATION, date(2027, 3, 30), VERMONT)

    assert the_obligation([VERMONT], "VT-02", start).due_on == date(2027, 4, 1)
    assert weekday(date(2027, 4, 1)) == "Thu"
    assert the_obligation([VERMONT], "VT-02", start, renewed).due_on == date(2028, 4, 1)


def test_vermont_new_practice_by_the_older_form() -> None:
    """An older form of Vermont DEC: 30 days from the start; another paper than that of odd years, and not confirmed."""
    opened = date(2026, 6, 1)
    start = [Trigger(Event.FIRST_DISCHARGE, opened, "site", 3), begun(VERMONT, opened)]
    found = the_obligation([VERMONT], "VT-NEW", *start)

    assert found.due_on == date(2026, 7, 1) == days_later(opened, 30)
    assert found.binds
    assert not found.confirmed
    assert found.also == ()
    assert not same_rule(VERMONT.get("VT-NEW"), VERMONT.get("VT-01"))


# -- Two states --------------------------------------------------------------------------------------------------------


def test_filings_of_two_states_are_owed_to_each() -> None:
    """310 CMR 73 and 10 V.S.A. 7110: a certification sent to one state answers no other."""
    start = date(2026, 11, 2)
    triggers = [begun(MASSACHUSETTS, start), begun(VERMONT, start), done(Duty.CERTIFY, date(2027, 1, 15), VERMONT)]

    found = {one.rule: one for one in obligations([MASSACHUSETTS, VERMONT], triggers) if one.duty == Duty.CERTIFY}

    assert {rule: (one.due_on, one.binds) for rule, one in found.items()} == {
        "MA-02": (date(2028, 3, 31), True),
        "VT-01": (date(2029, 1, 31), True),
    }
