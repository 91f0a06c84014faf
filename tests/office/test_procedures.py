"""Restorations removed and placed: typed for a span of days, counted once, corrected; and whole tables of them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.makers import MONDAY_MORNING, Watch
from tests.office.makers import SET_UP_AT, Crew, assert_repeated, entry, refused
from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.append import KeyReused
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import BodyNotUnderstood
from wasteledger.model.findings import Finding
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.model.traps import Condition
from wasteledger.office.corrections import correct_entry
from wasteledger.office.procedures import (
    BadTable,
    CountedTwice,
    NotOverYet,
    TableRow,
    counted_twice,
    procedures_told,
    record_procedures,
    record_table,
)
from wasteledger.office.swaps import record_look
from wasteledger.office.workplace import NotTheirTask, Said, Workplace

MONDAY, FRIDAY, TODAY = date(2026, 2, 23), date(2026, 2, 27), date(2026, 3, 2)
SOME = BySurfaces(one=3, two=5)


def told(place: Workplace) -> list[Procedures]:
    """What the ledger holds of restorations, corrections applied."""
    with place.reading() as reader:
        return [fact.body for fact in procedures_told(reader) if isinstance(fact.body, Procedures)]


def a_row(first_on: date, last_on: date | None = None, line: int = 2, **changes: object) -> TableRow:
    """A row of a table, of one day unless a last one is named."""
    body = Procedures.model_validate(
        {"first_on": first_on, "last_on": last_on or first_on, "removed": SOME, "source": "csv"} | changes
    )
    return TableRow(f"week.csv line {line}", body)


# -- typed -----------------------------------------------------------------------------------------------------------


def test_a_week_is_written_as_of_its_last_evening(place: Workplace) -> None:
    recorded = record_procedures(place, MONDAY, FRIDAY, Said(note="from the day book"), removed=SOME)

    assert recorded.entry.body == Procedures(first_on=MONDAY, last_on=FRIDAY, removed=SOME, note="from the day book")
    # The last moment of Friday in Chicago, six hours behind UTC.
    assert recorded.entry.happened_at.isoformat() == "2026-02-28T05:59:59.999999+00:00"
    assert recorded.says == (
        "Amalgam restorations of 2026-02-23 to 2026-02-27: removed 8 (3 with 1 surface, 5 with 2 surfaces), "
        "placed none."
    )
    assert recorded.warnings == ()
    assert verify(place.ledger.engine, place.site).holds


def test_today_is_written_as_of_now(place: Workplace) -> None:
    recorded = record_procedures(place, TODAY, TODAY, placed=BySurfaces(four_or_more=1))

    assert recorded.entry.happened_at == MONDAY_MORNING
    assert recorded.says == "Amalgam restorations of 2026-03-02: removed none, placed 1 (1 with 4 or more surfaces)."


def test_days_to_come_are_refused(place: Workplace) -> None:
    with refused(place, NotOverYet, "2026-03-03, comes after 2026-03-02"):
        record_procedures(place, MONDAY, TODAY + timedelta(days=1), removed=SOME)
    with refused(place, NotOverYet, "2026-02-27, comes after 2026-02-26"):
        record_procedures(place, MONDAY, FRIDAY, Said(at=MONDAY_MORNING - timedelta(days=4)), removed=SOME)
    with refused(place, BodyNotUnderstood, "before the first"):
        record_procedures(place, FRIDAY, MONDAY, removed=SOME)


def test_a_time_that_was_said_is_kept(place: Workplace) -> None:
    at = MONDAY_MORNING - timedelta(days=2)

    assert record_procedures(place, MONDAY, FRIDAY, Said(at=at), removed=SOME).entry.happened_at == at


def test_an_inspector_records_nothing(crew: Crew) -> None:
    with refused(crew.kim, NotTheirTask):
        record_procedures(crew.iris, MONDAY, FRIDAY, removed=SOME)


def test_the_same_day_is_counted_once(place: Workplace) -> None:
    first = record_procedures(place, MONDAY, FRIDAY, removed=SOME)

    with refused(place, CountedTwice, f"Entry {first.seq} holds the restorations of 2026-02-23 to 2026-02-27 already"):
        record_procedures(place, FRIDAY, TODAY, removed=SOME)
    with refused(place, CountedTwice):
        record_procedures(place, FRIDAY, FRIDAY, room="r1", removed=SOME)
    record_procedures(place, FRIDAY + timedelta(days=1), TODAY, removed=SOME)


def test_rooms_are_counted_beside_each_other(place: Workplace) -> None:
    record_procedures(place, MONDAY, FRIDAY, room="r1", removed=SOME)
    record_procedures(place, MONDAY, FRIDAY, room="r2", removed=SOME)

    with refused(place, CountedTwice, "in room r1"):
        record_procedures(place, FRIDAY, FRIDAY, removed=SOME)
    with refused(place, NotThereYet, "attic"):
        record_procedures(place, MONDAY, FRIDAY, room="attic", removed=SOME)
    before = SET_UP_AT.date() - timedelta(days=7)
    with refused(place, NotThereYet, "only since"):
        record_procedures(place, before, before, room="r3", removed=SOME)


def test_the_same_message_again_is_written_once_even_on_another_day(place: Workplace, watch: Watch) -> None:
    key = Said(key="11111111-2222-4333-8444-555555555555")
    first = record_procedures(place, TODAY, TODAY, key, removed=SOME)
    watch.wait(days=3)

    assert_repeated(place, first, record_procedures(place, TODAY, TODAY, key, removed=SOME))
    with refused(place, KeyReused):
        record_procedures(place, TODAY, TODAY, key, removed=BySurfaces(one=3))


def test_work_on_a_day_of_rest_asks_whether_the_days_are_right(place: Workplace) -> None:
    sunday = MONDAY - timedelta(days=1)

    assert "works on no day of 2026-02-22" in record_procedures(place, sunday, sunday, removed=SOME).warnings[0]
    assert record_procedures(place, sunday - timedelta(days=7), sunday - timedelta(days=7)).warnings == ()


# -- corrected -------------------------------------------------------------------------------------------------------


def test_a_count_is_corrected_by_its_field(place: Workplace) -> None:
    first = record_procedures(place, MONDAY, FRIDAY, removed=SOME)

    correct_entry(place, first.seq, "Misread.", action="replace", changes={"removed.one": "4", "last_on": "2026-02-26"})

    assert told(place) == [
        Procedures(first_on=MONDAY, last_on=date(2026, 2, 26), removed=BySurfaces(one=4, two=5)),
    ]
    assert entry(place, first.seq) == first.entry


def test_no_correction_counts_a_day_twice(place: Workplace) -> None:
    first = record_procedures(place, MONDAY, MONDAY, removed=SOME)
    second = record_procedures(place, FRIDAY, FRIDAY, removed=SOME)
    look = record_look(place, "1-HV", Condition.CLEAN)

    with refused(place, CountedTwice, f"Entry {second.seq} "):
        correct_entry(place, first.seq, "A week.", action="replace", changes={"last_on": FRIDAY.isoformat()})
    correct_entry(place, first.seq, "Not that day.")
    week = record_procedures(place, MONDAY, FRIDAY - timedelta(days=1), removed=SOME)
    with refused(place, CountedTwice, f"Entry {week.seq} "):
        correct_entry(place, first.seq, "It was.", action="reinstate")
    # Corrections of anything else do not ask.
    correct_entry(place, look.seq, "Never said.")


def test_days_that_an_import_brought_in_twice_are_found(place: Workplace) -> None:
    with place.writing() as desk:
        for number in range(3):
            week = MONDAY + timedelta(days=number)
            desk.append(Procedures(first_on=week, last_on=week + timedelta(days=1), removed=SOME))
        pairs = counted_twice(procedures_told(desk))

    assert [(one.seq - pairs[0][0].seq, other.seq - pairs[0][0].seq) for one, other in pairs] == [(0, 1), (1, 2)]


# -- tables ----------------------------------------------------------------------------------------------------------


def test_a_table_is_taken_whole_and_only_once(place: Workplace) -> None:
    rows = [a_row(MONDAY), a_row(date(2026, 2, 24), FRIDAY, 3), a_row(TODAY, line=4, note="half a day")]

    first = record_table(place, "week.csv", rows, said=Said(note="from the day book"))
    again = record_table(
        place, "week.csv", [*rows, a_row(date(2026, 2, 20), line=5)], said=Said(note="from the day book")
    )

    assert first.says == "3 of 3 rows of week.csv written: 24 removed, 0 placed."
    assert again.says == "1 of 4 rows of week.csv written, 3 written before: 8 removed, 0 placed."
    assert [one.entry for one in again.rows[:3]] == [one.entry for one in first.rows]
    assert [one.note for one in told(place)] == ["from the day book"] * 3 + ["half a day"]
    assert first.as_json()["rows"][0]["body"]["removed"]["two"] == 5
    assert verify(place.ledger.engine, place.site).holds


def test_somebody_else_may_send_the_same_table(crew: Crew) -> None:
    record_table(crew.kim, "week.csv", [a_row(MONDAY)])

    assert record_table(crew.mo, "week.csv", [a_row(MONDAY)]).rows[0].repeated


def test_every_fault_is_told_at_once_and_nothing_is_written(place: Workplace) -> None:
    held = record_procedures(place, MONDAY, MONDAY, removed=SOME)
    unread = Finding("table-fault", "week.csv line 3, column from", "It is blank.")
    rows = [
        a_row(MONDAY, line=2),
        a_row(date(2026, 2, 24), line=4),
        a_row(date(2026, 2, 24), line=5),
        a_row(date(2026, 2, 24), line=6, placed=BySurfaces(one=1)),
        a_row(date(2026, 2, 25), line=7, room="attic"),
        a_row(date(2026, 3, 3), line=8),
    ]

    with refused(place, BadTable, "week.csv: 6 faults; nothing was written"):
        record_table(place, "week.csv", rows, [unread])
    with pytest.raises(BadTable) as refusal:
        record_table(place, "week.csv", rows, [unread])
    assert [(one.place, one.says) for one in refusal.value.findings] == [
        ("week.csv line 2", f"Restorations of these days stand in entry {held.seq} already."),
        ("week.csv line 3, column from", "It is blank."),
        ("week.csv line 5", "Restorations of these days stand in week.csv line 4 already."),
        ("week.csv line 6", "Restorations of these days stand in week.csv line 4 already."),
        ("week.csv line 7", "There is no room “attic” in this ledger."),
        (
            "week.csv line 8",
            "The last day, 2026-03-03, comes after 2026-03-02, when it is said to be written.",
        ),
    ]


def test_many_faults_are_counted(place: Workplace) -> None:
    faults = [Finding("table-fault", f"week.csv line {line}", "It is blank.") for line in range(2, 32)]

    with refused(place, BadTable, "and 10 more"):
        record_table(place, "week.csv", [], faults)


def test_a_row_that_was_made_void_is_not_brought_back_in_silence(place: Workplace) -> None:
    first = record_table(place, "week.csv", [a_row(MONDAY)]).rows[0]
    correct_entry(place, first.seq, "Wrong week.")

    again = record_table(place, "week.csv", [a_row(MONDAY)])

    assert again.rows[0].repeated
    assert again.warnings == (
        f"week.csv line 2 was written before, as entry {first.seq}, and corrected by entry {first.seq + 1}.",
    )
    # The right counts for that day are another row, and so another entry.
    assert not record_table(place, "week.csv", [a_row(MONDAY, removed=BySurfaces(one=1))]).rows[0].repeated


@pytest.mark.parametrize("said", [Said(key="once"), Said(at=MONDAY_MORNING)])
def test_one_key_or_time_cannot_stand_for_all_rows(place: Workplace, said: Said) -> None:
    with refused(place, NotUnderstood, "every row"):
        record_table(place, "week.csv", [a_row(MONDAY)], said=said)


def test_years_of_days_are_taken_in_one_go(place: Workplace) -> None:
    first = date(2024, 1, 1)
    rows = [a_row(first + timedelta(days=number), line=number + 2) for number in range(700)]

    record_table(place, "years.csv", rows)

    assert len(told(place)) == 700
    with pytest.raises(WasteLedgerError, match="1 fault"):
        record_table(place, "years.csv", [a_row(date(2024, 6, 1), line=9, removed=BySurfaces(one=1))])
