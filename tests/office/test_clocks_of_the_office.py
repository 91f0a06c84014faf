"""Clocks that start with an ordinance or end with what was done, records and their terms, what a practice is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.makers import (
    SET_UP_AT,
    Clinic,
    a_booking,
    a_closing,
    a_level,
    a_line,
    a_receipt,
    a_release,
    a_repair,
    a_replacement,
    a_separator,
    a_site,
    a_swap,
    an_inspection,
    an_opening,
    make_clinic,
)
from tests.office.places import A_LOCAL_RULE, CONVENTIONS, FEDERAL, a_place, put_in_force
from wasteledger.model.entries import Milestone
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, PaperKind, Topic, Training
from wasteledger.model.register import FacilityDetails
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import due, due_from
from wasteledger.office.record_triggers import DEPOSIT_LOG, record_triggers_of
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import Lasting, Record
from wasteledger.ordinance.words import Specialty, Wastewater

MONDAY = date(2026, 3, 2)

PROVISION = """
citation = "Section 1"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""

STATE = f"""
schema = 1
[ordinance]
id = "some-state"
title = "Some state's dental rule"
authority = "Some state"
level = "state"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[scope]
id = "ST-SCOPE"
title = "Whom it covers"
asks = "Every office but endodontists."
exempt_specialties = ["endodontics"]
covers_septic = true
covers_mobile_units = false
{PROVISION}
[[rule]]
id = "ST-1"
duty = "certify"
kind = "deadline"
title = "Certify every other year"
asks = "A certification is sent by 31 March of even years."
trigger = ["in_force", "duty_done"]
recurs = true
due = {{ each = "03-31", years = "even" }}
{PROVISION}
[[rule]]
id = "ST-2"
duty = "test-separator"
kind = "deadline"
title = "Test the separator"
asks = "The separator is tested every five years."
trigger = ["separator_installed", "separator_tested"]
recurs = true
due = {{ years = 5 }}
{PROVISION}
[[rule]]
id = "ST-3"
duty = "notify-authority"
kind = "deadline"
title = "Tell of a new separator"
asks = "A new separator is told of within 30 days."
trigger = "separator_installed"
due = {{ days = 30 }}
{PROVISION}
[[rule]]
id = "ST-4"
duty = "ship-stock"
kind = "deadline"
title = "Ship what passes the limit"
asks = "What passes the limit is shipped within three days."
trigger = ["satellite_limit_reached", "stock_limit_reached"]
due = {{ days = 3 }}
{PROVISION}
[[rule]]
id = "ST-5"
duty = "expect-consignee-return"
kind = "deadline"
title = "Expect the return"
asks = "The return comes by the end of the month after the quarter."
trigger = "pickup_received"
due = {{ after_quarter_months = 1 }}
{PROVISION}
"""


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def days_due(place: Workplace) -> dict[tuple[str, str], date]:
    return {(one.rule, one.subject): one.due_on for one in due(place).obligations}


def records(place: Workplace) -> dict[tuple[Record, str], Any]:
    with place.reading() as reader:
        found = record_triggers_of(reader, place.zone)
    return {(one.record, one.subject): one for one in found if one.record is not None}


def test_a_yearly_filing_runs_from_the_entry_that_put_the_ordinance_in_force(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    first = due(place)

    clinic.record(DutyDone(duty="certify", ordinance="some-state", rule="ST-1", due_on=date(2026, 3, 31)))

    (asked,) = [one for one in first.obligations if one.rule == "ST-1"]
    assert asked.due_on == date(2026, 3, 31)
    with place.reading() as reader:
        (line,) = [one for one in reader.lines("ordinance") if one.ref == "some-state"]
    assert asked.trigger_seq == line.seq
    assert days_due(place)["ST-1", "site"] == date(2028, 3, 31)


def test_what_was_sent_to_another_authority_does_not_count(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    clinic.record(DutyDone(duty="certify", ordinance="some-city", due_on=date(2026, 3, 31)))

    assert days_due(place)["ST-1", "site"] == date(2026, 3, 31)


def test_a_test_of_the_separator_starts_its_five_years_anew(clinic: Clinic) -> None:
    clinic.record(a_separator(installed_on=date(2024, 9, 12)))
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    assert days_due(place)["ST-2", "separator SEP"] == date(2029, 9, 12)

    clinic.record(DutyDone(duty="test-separator", separator="SEP"))

    assert days_due(place)["ST-2", "separator SEP"] == date(2031, 3, 2)


def test_a_notice_is_asked_once(clinic: Clinic) -> None:
    clinic.record(a_separator(installed_on=date(2026, 2, 20)))
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    assert days_due(place)["ST-3", "separator SEP"] == date(2026, 3, 22)

    clinic.record(DutyDone(duty="notify-authority", ordinance="some-state", separator="SEP"))

    assert ("ST-3", "separator SEP") not in days_due(place)


def test_a_limit_that_is_no_longer_passed_stops_its_clock(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    for limit in ("satellite_limit", "stock_limit"):
        clinic.record(Milestone(what=f"{limit}_reached"))  # type: ignore[arg-type]
        assert days_due(place)["ST-4", "site"] == MONDAY + timedelta(days=3)
        clinic.watch.wait(minutes=5)
        clinic.record(Milestone(what=f"{limit}_ended"))  # type: ignore[arg-type]
        assert ("ST-4", "site") not in days_due(place)


def test_a_return_is_expected_after_the_papers_have_closed_the_pickup(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    clinic.record(a_receipt())
    with place.reading() as reader:
        pickup = reader.find_pickup("P-1")
    assert pickup is not None
    assert pickup.received_on is not None

    assert days_due(place)["ST-5", "pickup P-1"] == date(2026, 4, 30)
    clinic.watch.wait(days=40)
    clinic.record(DutyDone(duty="expect-consignee-return", ordinance="some-state", pickup="P-1"))
    assert ("ST-5", "pickup P-1") not in days_due(place)


# -- records ----------------------------------------------------------------------------------------------------------


def test_each_record_is_kept_from_its_own_day(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL, CONVENTIONS)
    clinic.record(an_opening())
    swap = clinic.record(a_swap())
    inspection = clinic.record(an_inspection())
    training = clinic.record(Training(people=("kim",), topics=(Topic.SPILL,)))
    manual = clinic.record(PaperFiled(what=PaperKind.OPERATING_MANUAL, place="Binder 2", separator="SEP"))
    late = clinic.record(DutyDone(duty="report-missing-receipt", due_on=date(2026, 2, 20)))

    kept = records(place)

    assert kept[Record.DEPOSIT_LOG, DEPOSIT_LOG].seq == swap.seq
    assert kept[Record.SEPARATOR_INSPECTION, "separator SEP"].seq == inspection.seq
    assert kept[Record.TRAINING, "site"].seq == training.seq
    assert kept[Record.OPERATING_MANUAL, "separator SEP"].seq == manual.seq
    # 40 CFR 262.40(b): three years from the day on which the report was due.
    assert (kept[Record.EXCEPTION_REPORT, "site"].seq, kept[Record.EXCEPTION_REPORT, "site"].on) == (
        late.seq,
        date(2026, 2, 20),
    )


def test_a_paper_of_the_carrier_makes_a_release_a_manifest_too(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    released = clinic.record(a_release())
    assert (Record.PICKUP, "pickup P-1") in records(place)
    assert (Record.MANIFEST, "pickup P-1") not in records(place)

    with_paper = a_release().model_copy(update={"document": "M-0001"})
    corrected = clinic.record(a_replacement(released, with_paper))

    assert records(place)[Record.MANIFEST, "pickup P-1"].seq == corrected.seq


def test_the_one_time_report_is_kept_until_the_practice_goes_to_somebody_else(clinic: Clinic) -> None:
    """40 CFR 441.50(a)(5): kept while the office operates, or until ownership is transferred."""
    place = a_place(clinic, FEDERAL)
    clinic.record(Milestone(what="one_time_report_filed"))

    def lasting() -> set[str]:
        with place.reading() as reader:
            return {one.rule for one in due_from(reader, place.today(), retention=True).undated}

    assert "US-441-08" in lasting()
    clinic.watch.wait(days=1)
    clinic.record(Milestone(what="ownership_transferred"))
    assert records(place)[Record.ONE_TIME_REPORT, "site"].ended >= {Lasting.UNTIL_TRANSFER}
    assert "US-441-08" not in lasting()


# -- what a practice is -----------------------------------------------------------------------------------------------


def test_what_the_register_leaves_blank_is_not_known(clinic: Clinic) -> None:
    place = a_place(clinic)
    with place.reading() as reader:
        known = circumstances_of(reader, MONDAY)
    assert (known.specialties, known.wastewater, known.haul_miles) == (None, None, None)


def test_the_register_s_words_are_read(clinic: Clinic) -> None:
    clinic.record(a_site(specialties=("endodontics",), wastewater="septic", mobile=True))
    place = a_place(clinic)
    with place.reading() as reader:
        known = circumstances_of(reader, MONDAY)
    assert known.specialties == frozenset({Specialty.ENDODONTICS})
    assert known.wastewater is Wastewater.SEPTIC
    assert known.is_mobile


def test_a_specialty_that_no_ordinance_knows_leaves_nobody_out(clinic: Clinic) -> None:
    clinic.record(a_site(specialties=("endodontics", "general")))
    place = a_place(clinic)
    with place.reading() as reader:
        assert circumstances_of(reader, MONDAY).specialties is None


@pytest.mark.parametrize(("ways", "nearest"), [((), None), ((250,), 250), ((250, 90), 90), ((250, None), None)])
def test_the_way_is_the_shortest_and_only_known_where_every_one_is(
    clinic: Clinic, ways: tuple[int | None, ...], nearest: int | None
) -> None:
    place = a_place(clinic)
    with place.reading() as reader:
        lines = reader.lines("facility")
    for line in lines:
        clinic.record(a_line(line.ref, line.details, retired=True))
    for number, way in enumerate(ways):
        clinic.record(a_line(f"far-{number}", FacilityDetails(name=f"Far {number}", haul_miles=way)))
    with place.reading() as reader:
        assert circumstances_of(reader, MONDAY).haul_miles == nearest


def test_an_ordinance_that_leaves_the_practice_out_is_not_counted_and_that_is_said(clinic: Clinic) -> None:
    clinic.record(a_site(specialties=("endodontics",)))
    place = a_place(clinic, FEDERAL)
    put_in_force(clinic, "some-state", STATE)
    clinic.record(Milestone(what="first_discharge"))

    found = due(place)

    assert {one.ordinance for one in found.obligations} == {FEDERAL}
    (finding,) = [one for one in found.findings if one.code == "out-of-scope"]
    assert "Some state's dental rule" in finding.says
    assert "only endodontics is practised here" in finding.says


def test_set_up_begins_every_clock_of_the_ordinances(clinic: Clinic) -> None:
    """The day from which the plan holds is the day from which its ordinances count."""
    with clinic.ledger.reading(clinic.site) as reader:
        (line,) = reader.lines("ordinance")
    assert line.since_at == SET_UP_AT


def test_a_training_starts_the_year_of_trainings_anew(clinic: Clinic) -> None:
    rule = STATE.replace('duty = "certify"', 'duty = "train-staff"').replace(
        '{ each = "03-31", years = "even" }', "{ years = 1 }"
    )
    place = a_place(clinic)
    put_in_force(clinic, "some-state", rule)
    clinic.record(Training(people=("kim",), topics=(Topic.HANDLING,)))

    assert days_due(place)["ST-1", "site"] == date(2027, 3, 2)


def test_a_container_is_full_from_the_level_that_said_so(clinic: Clinic) -> None:
    """Whoever closes it two weeks later gets no two weeks more."""
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    clinic.record(an_opening())
    assert ("RD-1", "container C-1") not in days_due(place)

    read = clinic.record(a_level(level_permille=1000))
    clinic.watch.wait(days=10)
    clinic.record(a_closing())

    (asked,) = [one for one in due(place).obligations if one.rule == "RD-1"]
    assert (asked.trigger_on, asked.trigger_seq, asked.due_on) == (MONDAY, read.seq, MONDAY + timedelta(days=90))


def test_a_level_below_the_mark_takes_the_full_one_back(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    clinic.record(an_opening())
    clinic.record(a_level(level_permille=1000))
    clinic.watch.wait(days=1)
    clinic.record(a_level(level_permille=800))

    assert ("RD-1", "container C-1") not in days_due(place)


def test_a_notice_owed_for_a_device_outlasts_its_replacement(clinic: Clinic) -> None:
    clinic.record(a_separator(installed_on=date(2026, 1, 10)))
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    clinic.record(a_repair("replaced"))

    owed = {one.trigger_on: one.due_on for one in due(place).obligations if one.rule == "ST-3"}
    owed |= {one.due_on - timedelta(days=30): one.due_on for asked in due(place).obligations for one in asked.also}

    assert owed[date(2026, 1, 10)] == date(2026, 2, 9)


def test_a_first_filing_is_not_answered_by_its_renewal(clinic: Clinic) -> None:
    first = (
        STATE
        + f"""
[[rule]]
id = "ST-0"
duty = "certify"
kind = "deadline"
title = "First certification"
asks = "A first certification is sent within 60 days."
trigger = "first_discharge"
due = {{{{ days = 60 }}}}
{PROVISION}
""".replace("{{", "{").replace("}}", "}")
    )
    place = a_place(clinic)
    put_in_force(clinic, "some-state", first)
    clinic.record(Milestone(what="first_discharge"))
    clinic.watch.wait(days=1)
    clinic.record(DutyDone(duty="certify", ordinance="some-state", rule="ST-1", due_on=date(2026, 3, 31)))
    assert days_due(place)["ST-0", "site"] == date(2026, 5, 1)
    assert days_due(place)["ST-1", "site"] == date(2028, 3, 31)

    clinic.record(DutyDone(duty="certify", ordinance="some-state", rule="ST-0"))

    assert ("ST-0", "site") not in days_due(place)
    assert days_due(place)["ST-1", "site"] == date(2028, 3, 31)


def test_a_limit_recorded_again_starts_nothing_anew_and_a_pickup_does_not_end_it(clinic: Clinic) -> None:
    """One gram that leaves takes no stock below its limit: only its end, recorded, stops the clock."""
    place = a_place(clinic)
    put_in_force(clinic, "some-state", STATE)
    clinic.record(Milestone(what="stock_limit_reached"))
    clinic.watch.wait(days=2)
    clinic.record(Milestone(what="stock_limit_reached"))
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())

    assert days_due(place)["ST-4", "site"] == MONDAY + timedelta(days=3)


def test_the_federal_report_answers_no_report_of_a_district(clinic: Clinic) -> None:
    report = STATE.replace('duty = "certify"', 'duty = "one-time-report"').replace(
        'trigger = ["in_force", "duty_done"]\nrecurs = true\ndue = { each = "03-31", years = "even" }',
        'trigger = "first_discharge"\ndue = { days = 90 }',
    )
    place = a_place(clinic, FEDERAL)
    put_in_force(clinic, "some-state", report)
    clinic.record(Milestone(what="first_discharge"))
    assert {"US-441-01", "ST-1"} <= {rule for rule, _ in days_due(place)}

    clinic.watch.wait(hours=1)
    clinic.record(Milestone(what="one_time_report_filed"))

    assert ("ST-1", "site") in days_due(place)
    assert ("US-441-01", "site") not in days_due(place)


def test_the_deposit_log_is_kept_from_its_last_line_as_corrected(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(an_opening())
    typed = clinic.record(a_swap())
    clinic.watch.wait(days=300)
    clinic.record(a_replacement(typed, happened_at=typed.happened_at + timedelta(days=200)))

    assert records(place)[Record.DEPOSIT_LOG, DEPOSIT_LOG].on == MONDAY + timedelta(days=200)


def test_without_a_word_on_other_waste_no_category_is_known(clinic: Clinic) -> None:
    """262.13 counts all hazardous waste of a month; amalgam alone says little, and a rule is then not left out."""
    place = a_place(clinic, "us-federal-generator")
    with place.reading() as reader:
        assert circumstances_of(reader, MONDAY).categories == {}

    clinic.record(OtherWaste(month="2026-02", name="None", made_mg=0))

    with place.reading() as reader:
        assert dict(circumstances_of(reader, MONDAY).categories) == {"us-federal-generator": "VSQG"}


def test_a_notice_of_a_malfunction_is_owed_though_it_was_repaired(clinic: Clinic) -> None:
    notice = STATE.replace(
        'trigger = "separator_installed"\ndue = { days = 30 }', 'trigger = "malfunction_found"\ndue = { days = 3 }'
    )
    place = a_place(clinic, FEDERAL)
    put_in_force(clinic, "some-state", notice)
    clinic.record(an_inspection("malfunction"))
    clinic.watch.wait(hours=2)
    clinic.record(a_repair())

    found = days_due(place)

    assert found["ST-3", "separator SEP"] == MONDAY + timedelta(days=3)
    assert ("US-441-03", "separator SEP") not in found


def test_what_a_quiet_month_ships_was_made_in_the_months_before(clinic: Clinic) -> None:
    """400 kg in January, 1 kg in March, and a shipment in March: its report and copy are a small generator's."""
    place = a_place(clinic, "us-federal-generator")
    for month, made_mg in (("2026-01", 400_000_000), ("2026-02", 1_000_000), ("2026-03", 1_000_000)):
        clinic.record(OtherWaste(month=month, name="Solvent", made_mg=made_mg))
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())

    assert ("US-RCRA-08", "pickup P-1") in days_due(place)
