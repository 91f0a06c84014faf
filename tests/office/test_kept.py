"""How long records are kept, and what has no day: said once for all that is the same, with rule, doubt and entry."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.makers import Clinic, a_repair, an_inspection
from tests.office.places import A_LOCAL_RULE, FEDERAL, a_place, put_in_force
from wasteledger.office.due import DueList, due
from wasteledger.office.kept import Dayless, Kept, dayless_in, kept_in
from wasteledger.ordinance import DueState, Kind, Record, Undated

A_KEEPING_RULE = (
    A_LOCAL_RULE
    + """
[[rule]]
id = "RD-4"
duty = "keep-records"
kind = "retention"
title = "Keep inspections"
asks = "Inspections are kept for two years."
trigger = "record_made"
records = ["separator_inspection"]
due = { years = 2 }
citation = "River District 5-9"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false
confirmed_note = "Invented, and so not read."
"""
)


@pytest.fixture
def found(clinic: Clinic) -> DueList:
    """Three weekly inspections from Monday, 2 March 2026, and a repair, as two rules keep them."""
    place = a_place(clinic, FEDERAL)
    put_in_force(clinic, "river-district", A_KEEPING_RULE)
    for _ in range(3):
        clinic.record(an_inspection())
        clinic.watch.wait(days=7)
    clinic.record(a_repair())
    return due(place, retention=True)


def inspections(found: DueList) -> Kept:
    (kept,) = (one for one in kept_in(found) if one.terms[0].record is Record.SEPARATOR_INSPECTION)
    return kept


def test_records_of_one_rule_class_and_subject_stand_together(found: DueList) -> None:
    """40 CFR 441.50(b): at least three years from each inspection."""
    kept = inspections(found)

    assert [one.due_on for one in kept.terms] == [date(2029, 3, 2), date(2029, 3, 9), date(2029, 3, 16)]
    assert kept.title().startswith("2 March 2029 to 16 March 2029: ")
    assert kept.title().endswith(", separator SEP (separator inspection): 3 records")
    lines = list(kept.lines())
    assert f"First counted: 3 years from the day of the record, 2026-03-02, entry {kept.terms[0].trigger_seq}." in lines
    assert f"Last counted: 3 years from the day of the record, 2026-03-16, entry {kept.terms[2].trigger_seq}." in lines
    assert [line for line in lines if "40 CFR 441.50(b)" in line]
    assert (
        "Also by 2 March 2028 to 16 March 2028: River District sewer code, River District 5-9; "
        "NOT CONFIRMED, not read at its source." in lines
    )


def test_every_record_is_in_one_block_and_another_class_in_another(found: DueList) -> None:
    terms = [one for one in found.obligations if one.kind is Kind.RETENTION]
    blocks = kept_in(found)

    assert sorted(id(one) for block in blocks for one in block.terms) == sorted(map(id, terms))
    assert {Record.SEPARATOR_INSPECTION, Record.SEPARATOR_REPAIR} <= {block.terms[0].record for block in blocks}
    assert all(len({one.record for one in block.terms}) == 1 for block in blocks)


def test_what_only_some_of_them_fall_under_is_told_of_those(found: DueList) -> None:
    first, *rest = inspections(found).terms
    only_first = replace(found, obligations=(first, *(replace(one, also=()) for one in rest)))

    assert [line for line in inspections(only_first).lines() if line.startswith("Also by 2 March 2028: River")]


def test_a_term_that_is_over_is_counted(found: DueList) -> None:
    later = replace(found, today=date(2029, 3, 10))
    last = replace(found, today=date(2029, 3, 17))

    assert inspections(found).state is DueState.KEEP
    assert inspections(later).state is DueState.KEEP
    assert inspections(later).title().endswith(": 3 records, term over for 2")
    assert inspections(last).state is DueState.TERM_OVER


def test_a_single_record_says_what_it_said(found: DueList) -> None:
    (repair,) = (one for one in kept_in(found) if one.terms[0].record is Record.SEPARATOR_REPAIR)

    assert "records" not in repair.title().removeprefix(f"23 March 2029: {repair.terms[0].title}")
    assert f"Counted: 3 years from the day of the record, 2026-03-23, entry {repair.terms[0].trigger_seq}." in list(
        repair.lines()
    )


# -- without a day -----------------------------------------------------------------------------------------------------


def a_lasting(seq: int, **changes: object) -> Undated:
    plain = Undated(
        rule="RD-5",
        title="Keep the manual",
        asks="The manual is kept.",
        ordinance="river-district",
        ordinance_title="River District sewer code",
        duty="keep-manual",
        kind=Kind.RETENTION,
        subject="separator SEP",
        trigger_on=date(2026, 1, seq),
        trigger_seq=seq,
        why="Kept as long as the device is in use.",
        is_gap=False,
        citation="5-10",
        confirmed=False,
        standing_of_source="NOT CONFIRMED: Invented.",
        record=Record.SEPARATOR_FILE,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def dayless(*clocks: Undated) -> tuple[Dayless, ...]:
    return dayless_in(DueList(date(2026, 3, 2), (), clocks))


def test_what_has_no_day_is_said_once_with_rule_clause_doubt_and_entries() -> None:
    (one,) = dayless(a_lasting(9), a_lasting(8))

    assert one.title == "Keep the manual, separator SEP (separator file): Kept as long as the device is in use."
    assert list(one.lines()) == [
        "River District sewer code, 5-10 (NOT CONFIRMED, not read at its source): The manual is kept.",
        "Record of 8 January 2026, entry 8; 9 January 2026, entry 9.",
    ]


def test_another_rule_subject_or_class_stands_by_itself() -> None:
    others = (
        a_lasting(8),
        a_lasting(8, rule="RD-6"),
        a_lasting(8, subject="separator SEP-2"),
        a_lasting(8, record=Record.OPERATING_MANUAL),
    )

    assert [one.clocks for one in dayless(*others)] == [(one,) for one in others]


def test_many_records_are_not_named_one_by_one() -> None:
    (one,) = dayless(*map(a_lasting, range(1, 7)))

    assert list(one.lines())[-1] == "Record of 1 January 2026, entry 1, to 6 January 2026, entry 6; 6 in all."


def test_what_was_read_has_no_mark() -> None:
    (one,) = dayless(a_lasting(8, confirmed=True))

    assert next(iter(one.lines())) == "River District sewer code, 5-10: The manual is kept."


def test_a_missing_interval_says_who_asks_and_from_which_entry(clinic: Clinic) -> None:
    """A manual's interval that is not entered: 40 CFR 441.30(a)(1)(vi)."""
    place = a_place(clinic, FEDERAL)
    (gap,) = (one for one in dayless_in(due(place)) if one.is_gap)

    lines = list(gap.lines())
    assert "40 CFR 441.30(a)(1)" in lines[0]
    assert lines[-1].startswith("Runs from ")
