"""Other hazardous waste, typed in for a month: once for each name, by the office, corrected like anything else."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.makers import MONDAY_MORNING, Watch
from tests.office.makers import Crew, assert_repeated, entry, refused
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import BodyNotUnderstood
from wasteledger.model.facts import Fact
from wasteledger.model.filings import OtherWaste
from wasteledger.office.corrections import FieldUnknown, correct_entry
from wasteledger.office.days import BeyondReckoning
from wasteledger.office.other_waste import (
    Month,
    MonthToCome,
    NoMonth,
    WasteCountedTwice,
    check_waste_counted_once,
    other_waste_told,
    record_other_waste,
    waste_counted_twice,
    waste_of,
)
from wasteledger.office.workplace import NotTheirTask, Said, Workplace
from wasteledger.units import Mass

JANUARY, FEBRUARY, MARCH = (Month(2026, number) for number in (1, 2, 3))
TWELVE = Mass.parse("12 kg")


@pytest.fixture
def office(crew: Crew) -> Workplace:
    """The manager at work."""
    return crew.mo


# -- months ------------------------------------------------------------------------------------------------------------


def test_a_month_is_read_and_written() -> None:
    assert Month.read(" 2026-03 ") == MARCH
    assert str(MARCH) == "2026-03"
    assert MARCH.words == "March 2026"
    assert Month.of(date(2024, 2, 29)).last_on == date(2024, 2, 29)
    assert JANUARY.plus(-1) == Month(2025, 12)
    assert Month(2025, 12).plus(3) == MARCH
    assert Month(2025, 12).months_to(MARCH) == 3
    assert MARCH.months_to(JANUARY) == -2


@pytest.mark.parametrize(
    "text", ["2026", "2026-13", "2026-00", "2026-3", "26-03", "0000-01", "March 2026", "", "２０２６-03"]
)
def test_what_names_no_month_is_refused(text: str) -> None:
    with pytest.raises(NoMonth, match="is not a month"):
        Month.read(text)


def test_a_month_that_nobody_reckons_with_is_refused() -> None:
    for text in ("1899-12", "2201-01"):
        with pytest.raises(BeyondReckoning):
            Month.read(text)
    assert Month.read("2200-12").plus(1).first_on == date(2201, 1, 1)


def test_a_month_begins_and_ends_at_local_midnight() -> None:
    """In March 2026 clocks in Chicago go from six to five hours behind UTC."""
    assert MARCH.bounds(ZoneInfo("America/Chicago")) == (
        datetime(2026, 3, 1, 6, tzinfo=UTC),
        datetime(2026, 4, 1, 5, tzinfo=UTC),
    )


# -- recording ---------------------------------------------------------------------------------------------------------


def test_a_month_that_is_over_is_written_as_of_its_last_evening(office: Workplace) -> None:
    recorded = record_other_waste(
        office, FEBRUARY, "Spent fixer", TWELVE, Said(note="from the log"), on_hand=Mass.parse("3 kg"), basis="paper"
    )

    assert recorded.entry.body == OtherWaste(
        month="2026-02",
        name="Spent fixer",
        made_mg=12_000_000,
        on_hand_mg=3_000_000,
        basis="paper",
        note="from the log",
    )
    # The last moment of February in Chicago, six hours behind UTC.
    assert recorded.entry.happened_at == datetime(2026, 3, 1, 5, 59, 59, 999999, tzinfo=UTC)
    assert "Spent fixer: 12 kg made (paper), 3 kg on hand" in recorded.says
    assert recorded.warnings == ()
    assert verify(office.ledger.engine, office.site).holds


def test_the_month_that_runs_is_written_as_of_now(office: Workplace) -> None:
    recorded = record_other_waste(office, MARCH, "Old solvent", Mass(0), acute=True)

    assert recorded.entry.happened_at == MONDAY_MORNING
    assert "acute" in recorded.says


def test_the_last_day_of_a_month_still_belongs_to_it(office: Workplace, watch: Watch) -> None:
    watch.now = datetime(2026, 4, 1, 4, 30, tzinfo=UTC)

    assert record_other_waste(office, MARCH, "Spent fixer", TWELVE).entry.happened_at == watch.now
    with refused(office, MonthToCome, "April 2026 begins only after 2026-03-31"):
        record_other_waste(office, Month(2026, 4), "Spent fixer", TWELVE)


def test_a_time_that_was_said_is_kept_and_checked(office: Workplace) -> None:
    at = MONDAY_MORNING - timedelta(days=20)

    assert record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE, Said(at=at)).entry.happened_at == at
    with refused(office, MonthToCome, "March 2026 begins only after 2026-02-10"):
        record_other_waste(office, MARCH, "Spent fixer", TWELVE, Said(at=at))


def test_the_office_alone_counts_the_month(crew: Crew) -> None:
    for place in (crew.kim, crew.iris):
        with refused(crew.mo, NotTheirTask):
            record_other_waste(place, FEBRUARY, "Spent fixer", TWELVE)


def test_a_waste_is_counted_once_a_month(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)

    with refused(office, WasteCountedTwice, f"Entry {first.seq} holds “Spent fixer” of 2026-02 already: 12 kg"):
        record_other_waste(office, FEBRUARY, "Spent fixer", Mass(1))
    for name in ("spent fixer", "SPENT  FIXER", " Spent fixer ", "Spent ﬁxer"):
        with refused(office, WasteCountedTwice):
            record_other_waste(office, FEBRUARY, name, Mass(1), acute=True)
    record_other_waste(office, JANUARY, "Spent fixer", TWELVE)
    record_other_waste(office, FEBRUARY, "Lead foil", TWELVE)


def test_the_hint_leads_to_a_correction(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)

    with pytest.raises(WasteCountedTwice) as caught:
        record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)
    assert f"wasteledger correct {first.seq}" in caught.value.hint
    correct_entry(office, first.seq, "It was weighed again.", action="replace", changes={"made_mg": "13 kg"})

    with office.reading() as reader:
        (fact,) = other_waste_told(reader)
    assert isinstance(fact.body, OtherWaste)
    assert fact.body.made_mg == 13_000_000


def test_a_field_of_nearly_that_name_is_named(office: Workplace) -> None:
    """The mass of other waste is called otherwise than that of a deposit."""
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)

    with pytest.raises(FieldUnknown, match=r"^An other waste entry has no “mass_mg”\.$") as caught:
        correct_entry(office, first.seq, "Weighed again.", action="replace", changes={"mass_mg": "13 kg"})
    assert caught.value.hint.startswith("Did you mean made_mg? It has acute, basis, made_mg, ")


def test_a_correction_moves_no_waste_into_a_month_to_come(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)

    with refused(office, MonthToCome, "April 2026 begins only after 2026-03-02"):
        correct_entry(office, first.seq, "Another month.", action="replace", changes={"month": "2026-04"})
    correct_entry(office, first.seq, "Another month.", action="replace", changes={"month": "2026-01"})
    with office.reading() as reader:
        assert [waste_of(fact).month for fact in other_waste_told(reader)] == ["2026-01"]


def test_what_was_made_void_may_be_written_again(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)
    correct_entry(office, first.seq, "Another office's.")

    assert not record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE).repeated


def test_the_same_message_again_is_written_once_even_in_another_month(office: Workplace, watch: Watch) -> None:
    key = Said(key="11111111-2222-4333-8444-555555555555")
    first = record_other_waste(office, MARCH, "Spent fixer", TWELVE, key)
    watch.wait(days=40)

    assert_repeated(office, first, record_other_waste(office, MARCH, "Spent fixer", TWELVE, key))


def test_amalgam_that_is_typed_in_comes_on_top(office: Workplace) -> None:
    recorded = record_other_waste(office, FEBRUARY, "Amalgam sludge", TWELVE)

    (warning,) = recorded.warnings
    assert "counted without being typed in" in warning


def test_what_is_no_waste_is_refused(office: Workplace) -> None:
    with refused(office, BodyNotUnderstood, "name"):
        record_other_waste(office, FEBRUARY, "  ", TWELVE)
    with refused(office, BodyNotUnderstood, "made_mg"):
        record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("10001 kg"))


# -- what an import or a correction may bring --------------------------------------------------------------------------


def a_fact(seq: int, month: str = "2026-02", name: str = "Spent fixer") -> Fact:
    """A fact of other waste, as a chain of elsewhere may hold it."""
    body = OtherWaste(month=month, name=name, made_mg=1)
    return Fact(seq, seq, MONDAY_MORNING, MONDAY_MORNING, "mo", body)


def test_pairs_are_found_whatever_their_order() -> None:
    facts = [a_fact(9, name="spent FIXER"), a_fact(3), a_fact(4, "2026-01"), a_fact(5, name="Lead foil"), a_fact(12)]

    pairs = waste_counted_twice(facts)

    assert [(first.seq, second.seq) for first, second in pairs] == [(3, 9), (3, 12)]
    assert waste_counted_twice(facts[1:4]) == ()


def test_a_desk_refuses_an_entry_that_another_one_holds(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", TWELVE)

    with refused(office, WasteCountedTwice, f"Entry {first.seq}"), office.writing() as desk:
        second = desk.append(OtherWaste(month="2026-02", name="Spent Fixer", made_mg=1))
        check_waste_counted_once(desk, second.entry.seq)
    with office.writing() as desk:
        check_waste_counted_once(desk, first.seq)
        check_waste_counted_once(desk, 1)
    assert entry(office, first.seq).kind == "other_waste"
