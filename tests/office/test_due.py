"""What is due, counted from what the journal shows."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.makers import (
    MONDAY_MORNING,
    SET_UP_AT,
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_line_cleaning,
    a_receipt,
    a_release,
    a_repair,
    a_replacement,
    a_separator,
    a_site,
    a_swap,
    a_unit_replacement,
    an_inspection,
    an_opening,
    make_clinic,
)
from tests.office.places import A_LOCAL_RULE, CONVENTIONS, FEDERAL, a_place, put_in_force
from wasteledger.model.entries import Milestone
from wasteledger.model.filings import DutyDone
from wasteledger.office.due import calendar_of, due, triggers_of
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import Event, Trigger

MONDAY = date(2026, 3, 2)


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def running(place: Workplace) -> dict[tuple[Event, str], Trigger]:
    with place.reading() as reader:
        return {(one.event, one.subject): one for one in triggers_of(reader, place.zone)}


def rules_due(place: Workplace, *, until: date | None = None) -> dict[str, date]:
    return {one.rule: one.due_on for one in due(place, until=until).obligations}


def test_a_malfunction_is_repaired_within_ten_business_days(clinic: Clinic) -> None:
    """40 CFR 441.30(a)(1)(v): ten business days; Monday 2 March 2026 and ten weekdays make Monday 16 March."""
    place = a_place(clinic, FEDERAL)
    found = clinic.record(an_inspection("malfunction"))

    listed = {one.rule: one for one in due(place).obligations}

    assert listed["US-441-03"].due_on == date(2026, 3, 16)
    assert listed["US-441-03"].trigger_seq == found.seq
    assert listed["US-441-03"].subject == "separator SEP"
    clinic.record(a_repair())
    assert "US-441-03" not in rules_due(place)


def test_the_day_is_the_local_one(clinic: Clinic) -> None:
    """Eleven at night in Chicago is the next day already in UTC."""
    place = a_place(clinic, FEDERAL)
    clinic.watch.now = datetime(2026, 3, 3, 5, 0, tzinfo=UTC)
    clinic.append(an_inspection("malfunction"))

    assert running(place)[Event.MALFUNCTION_FOUND, "separator SEP"].on == MONDAY


def test_an_inspection_is_counted_from_the_last_one_else_from_the_installation(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    installed = rules_due(place)["US-441-06"]
    inspected = clinic.record(an_inspection())

    assert installed == SET_UP_AT.date() + timedelta(days=30)
    assert rules_due(place)["US-441-06"] == MONDAY + timedelta(days=30)
    clinic.record(a_correction(inspected))
    assert rules_due(place)["US-441-06"] == installed


def test_the_manuals_months_count_from_the_last_exchange(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    without_interval = due(place)
    clinic.record(a_separator(inspect_every_days=30, replace_unit_every_months=12))
    clinic.record(an_opening())
    clinic.record(a_unit_replacement())

    assert [one.rule for one in without_interval.undated if one.is_gap] == ["US-441-05"]
    assert without_interval.wants_attention
    assert rules_due(place)["US-441-05"] == date(2027, 3, 2)


def test_a_full_unit_is_due_on_the_day_it_was_seen_full(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(a_separator(replace_unit_every_months=12))
    full = clinic.record(an_inspection().model_copy(update={"level_permille": 1000}))
    clinic.watch.wait(days=5)
    clinic.record(an_inspection().model_copy(update={"level_permille": 1000}))

    trigger = running(place)[Event.RETAINING_UNIT_FULL, "separator SEP"]

    assert (trigger.on, trigger.seq) == (MONDAY, full.seq)
    assert rules_due(place)["US-441-05"] == MONDAY


def test_an_old_separator_goes_by_june_2027_unless_its_standard_is_entered_or_it_was_replaced(clinic: Clinic) -> None:
    """40 CFR 441.30(a)(1)(iii): in place before 14 June 2017, to stay no longer than 14 June 2027."""
    place = a_place(clinic, FEDERAL)
    line = clinic.record(a_separator(installed_on=date(2015, 5, 1)))

    assert running(place)[Event.SEPARATOR_INSTALLED, "separator SEP"].seq == line.seq
    assert rules_due(place)["US-441-04"] == date(2027, 6, 14)
    clinic.record(a_separator(installed_on=date(2015, 5, 1), standard="ISO 11143:2008"))
    assert "US-441-04" not in rules_due(place)
    clinic.record(a_separator(installed_on=date(2015, 5, 1)))
    whole = clinic.record(a_repair("replaced"))
    assert "US-441-04" not in rules_due(place)
    assert running(place)[Event.SEPARATOR_INSTALLED, "separator SEP"].seq == whole.seq


def test_a_container_is_counted_from_its_first_waste_until_it_leaves(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    clinic.record(an_opening())
    assert "OFFICE-CONTAINER-12M" not in rules_due(place)
    first = clinic.record(a_swap())
    clinic.watch.wait(days=10)
    second = clinic.record(a_swap("2-HV"))

    trigger = running(place)[Event.CONTAINER_FIRST_WASTE, "container C-1"]
    assert (trigger.on, trigger.seq) == (MONDAY, first.seq)
    clinic.record(a_correction(first))
    assert running(place)[Event.CONTAINER_FIRST_WASTE, "container C-1"].seq == second.seq
    assert rules_due(place)["OFFICE-CONTAINER-12M"] == date(2027, 3, 12)
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    assert "OFFICE-CONTAINER-12M" not in rules_due(place)


def test_only_a_container_closed_as_full_counts_as_full_and_the_earliest_day_binds(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    for container, why in (("C-1", "full"), ("C-2", "other")):
        clinic.record(an_opening(container))
        clinic.record(a_swap(container=container))
        clinic.record(a_closing(container, why))  # type: ignore[arg-type]

    binding = {one.subject: one for one in due(place).obligations if one.duty == "ship-container"}

    assert binding["container C-1"].rule == "RD-1"
    assert binding["container C-1"].due_on == MONDAY + timedelta(days=90)
    assert [other.rule for other in binding["container C-1"].also] == ["OFFICE-CONTAINER-12M"]
    assert binding["container C-2"].rule == "OFFICE-CONTAINER-12M"


def test_a_receipt_is_chased_at_30_45_and_60_days_until_recycling_is_proved(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    release = clinic.record(a_release())

    chased = [(one.rule, one.due_on, one.subject, one.trigger_seq) for one in due(place).obligations]

    assert chased == [
        (f"OFFICE-RECEIPT-{days}", MONDAY + timedelta(days=days), "pickup P-1", release.seq) for days in (30, 45, 60)
    ]
    clinic.watch.wait(days=20)
    clinic.record(a_receipt())
    assert len(due(place).obligations) == 3
    assert running(place)[Event.PICKUP_RECEIVED, "pickup P-1"].on == date(2026, 3, 16)
    clinic.record(a_receipt(proves="recycled"))
    assert due(place).obligations == ()
    assert running(place)[Event.LAST_PICKUP, "site"].seq == release.seq


def test_a_milestone_runs_until_the_report_that_follows_it(clinic: Clinic) -> None:
    """40 CFR 441.50(a)(1)(ii) and (a)(4): ninety days."""
    place = a_place(clinic, FEDERAL)
    clinic.record(Milestone(what="first_discharge"))
    assert rules_due(place)["US-441-01"] == MONDAY + timedelta(days=90)
    clinic.record(Milestone(what="one_time_report_filed"))
    assert "US-441-01" not in rules_due(place)
    clinic.record(Milestone(what="ownership_transferred"))
    assert rules_due(place)["US-441-02"] == MONDAY + timedelta(days=90)
    assert "US-441-01" not in rules_due(place)


def test_the_last_line_cleaning_that_counts_starts_the_clock(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    assert "RD-3" not in rules_due(place)
    first = clinic.record(a_line_cleaning())
    clinic.watch.wait(days=3)
    second = clinic.record(a_line_cleaning())
    assert rules_due(place)["RD-3"] == MONDAY + timedelta(days=10)
    clinic.record(a_correction(second))
    assert rules_due(place)["RD-3"] == MONDAY + timedelta(days=7)
    moved = clinic.record(a_replacement(first, happened_at=first.happened_at + timedelta(days=1)))
    assert running(place)[Event.LINE_CLEANED, "site"].seq == moved.seq
    assert rules_due(place)["RD-3"] == MONDAY + timedelta(days=8)


def test_a_rule_whose_clock_nothing_started_is_pointed_out(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)

    looks, cleaning = due(place).findings
    clinic.record(a_line_cleaning())

    assert {looks.code, cleaning.code} == {"clock-not-begun"}
    assert "RD-2" in looks.says
    assert "RD-3" in cleaning.says
    assert due(place).findings == (looks,)
    clinic.record(DutyDone(duty="look-at-containers"))
    assert due(place).findings == ()
    assert rules_due(place)["RD-2"] == MONDAY + timedelta(days=7)


def test_a_file_that_changed_since_is_pointed_out_and_the_registered_text_counts(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(Milestone(what="first_discharge"))
    before = due(place).findings
    with place.reading() as reader:
        (line,) = reader.lines("ordinance")
    put_in_force(clinic, FEDERAL, line.details.text.replace("days = 90", "days = 80"))  # type: ignore[union-attr]

    listed = due(place)

    assert "ordinance-changed" not in {one.code for one in before}
    assert [one.code for one in listed.findings if one not in before] == ["ordinance-changed"]
    assert rules_due(place)["US-441-01"] == MONDAY + timedelta(days=80)


def test_closures_and_working_days_give_the_advised_day(clinic: Clinic) -> None:
    """The due day stays; the advised one is the last day on which somebody works."""
    place = a_place(clinic, CONVENTIONS)
    closed = ((date(2026, 3, 26), date(2026, 4, 6)),)
    clinic.record(a_site(working_days=(0, 1, 2, 3), closures=closed))
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())

    first = due(place).obligations[0]
    with place.reading() as reader:
        calendar = calendar_of(reader)

    assert first.due_on == date(2026, 4, 1)
    assert first.advised_on == date(2026, 3, 25)
    assert not calendar.works_on(date(2026, 3, 27))
    assert calendar.works_on(date(2026, 4, 7))


def test_a_closure_until_the_calendar_s_end_is_no_crash(clinic: Clinic) -> None:
    """What an older release took into the register still has to be read."""
    place = a_place(clinic, FEDERAL)
    clinic.record(a_site(closures=((date(2026, 12, 24), date.max), (date(9999, 1, 1), date.max))))

    with place.reading() as reader:
        calendar = calendar_of(reader)

    assert calendar.works_on(date(2026, 12, 23))
    assert not calendar.works_on(date(2200, 12, 31))


def test_until_leaves_out_what_comes_later_and_never_what_is_overdue(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    clinic.watch.now = MONDAY_MORNING + timedelta(days=40)

    listed = due(place, until=MONDAY + timedelta(days=5))

    assert [one.rule for one in listed.obligations] == ["OFFICE-RECEIPT-30"]
    assert [one.rule for one in listed.pressing] == ["OFFICE-RECEIPT-30"]
    assert set(rules_due(place, until=MONDAY + timedelta(days=45))) == {"OFFICE-RECEIPT-30", "OFFICE-RECEIPT-45"}


def test_retention_is_listed_only_when_asked(clinic: Clinic) -> None:
    """40 CFR 441.50(b): three years."""
    place = a_place(clinic, FEDERAL)
    inspection = clinic.record(an_inspection())

    kept = [one for one in due(place, retention=True).obligations if one.kind.value == "retention"]

    assert all(one.kind.value == "deadline" for one in due(place).obligations)
    assert [(one.trigger_seq, one.due_on) for one in kept] == [(inspection.seq, date(2029, 3, 2))]


def test_the_list_as_json_has_iso_days_and_states(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL, CONVENTIONS)
    clinic.record(an_inspection("malfunction"))

    said = json.loads(json.dumps(due(place).as_json()))

    repair = next(one for one in said["obligations"] if one["rule"] == "US-441-03")
    assert said["today"] == "2026-03-02"
    assert (repair["due_on"], repair["state"], repair["subject"]) == ("2026-03-16", "due_soon", "separator SEP")
    assert said["wants_attention"] is True
