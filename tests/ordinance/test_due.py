"""From triggers to obligations: which rule starts, which binds, what is a gap."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.ordinance.makers import (
    CONVENTIONS,
    FEDERAL,
    a_rule,
    an_ordinance,
    first_waste,
)
from wasteledger.ordinance import (
    Basis,
    DueState,
    Event,
    Force,
    Interval,
    Kind,
    Level,
    Manual,
    Record,
    Trigger,
    Unit,
    binding,
    obligations,
    retention,
    undated,
)
from wasteledger.ordinance.rules import After, OnDay, WhileLasting
from wasteledger.ordinance.words import Lasting

MONDAY = date(2026, 3, 2)


def after(count: int, unit: Unit = Unit.DAYS) -> After:
    return After(Interval(count, unit))


def test_each_ordinance_keeps_its_day_and_the_earliest_binds() -> None:
    state = an_ordinance("state", a_rule("S-1", due=after(365)), level=Level.STATE)
    district = an_ordinance("district", a_rule("D-1", due=after(180)))

    first, second, third = obligations([state, district, CONVENTIONS], [first_waste(MONDAY)])

    assert [first.rule, second.rule, third.rule] == ["D-1", "S-1", "OFFICE-CONTAINER-12M"]
    assert [first.binds, second.binds, third.binds] == [True, False, False]
    assert [(other.rule, other.due_on) for other in first.also] == [
        ("S-1", second.due_on),
        ("OFFICE-CONTAINER-12M", third.due_on),
    ]
    assert binding([first, second, third]) == (first,)


def test_different_clock_starts_of_one_duty_are_held_against_each_other() -> None:
    by_age = an_ordinance("state", a_rule("AGE", due=after(1, Unit.YEARS)), level=Level.STATE)
    by_fullness = an_ordinance("county", a_rule("FULL", due=after(90), triggers=(Event.CONTAINER_FULL,)))
    full = Trigger(Event.CONTAINER_FULL, date(2026, 6, 1), "C1", 50)

    found = obligations([by_age, by_fullness], [first_waste(MONDAY), full])

    assert [(one.rule, one.due_on, one.binds) for one in found] == [
        ("FULL", date(2026, 8, 30), True),
        ("AGE", date(2027, 3, 2), False),
    ]


def test_containers_do_not_bind_each_other() -> None:
    rules = an_ordinance("district", a_rule())

    found = obligations([rules], [first_waste(MONDAY, "C1"), first_waste(MONDAY + timedelta(days=5), "C2")])

    assert [(one.subject, one.binds, one.also) for one in found] == [("C1", True, ()), ("C2", True, ())]


def test_on_one_day_the_law_binds_before_advice() -> None:
    advice = an_ordinance("aaa", a_rule("ADVICE", force=Force.ADVICE))
    law = an_ordinance("zzz", a_rule("LAW"))

    found = obligations([advice, law], [first_waste(MONDAY)])

    assert [(one.rule, one.binds) for one in found] == [("LAW", True), ("ADVICE", False)]


def test_retention_takes_the_longest() -> None:
    """A practice under 40 CFR 441.50(b) (3 years) and 310 CMR 73.06(2) (5 years) keeps a record for five."""
    massachusetts = an_ordinance(
        "state",
        a_rule(
            "KEEP-5",
            duty="keep-records",
            kind=Kind.RETENTION,
            triggers=(Event.RECORD_MADE,),
            records=(Record.PICKUP,),
            due=after(5, Unit.YEARS),
        ),
        level=Level.STATE,
    )

    kept = retention([FEDERAL, massachusetts], Record.PICKUP, date(2026, 10, 5))

    assert kept.longest is not None
    assert (kept.longest.rule, kept.longest.due_on) == ("KEEP-5", date(2031, 10, 5))
    assert [(other.rule, other.due_on) for other in kept.longest.also] == [("US-441-07", date(2029, 10, 5))]
    made = Trigger(Event.RECORD_MADE, date(2026, 10, 5), "pickup", 9, record=Record.PICKUP)
    found = obligations([FEDERAL, massachusetts], [made])
    assert [(one.rule, one.binds) for one in found] == [("US-441-07", False), ("KEEP-5", True)]

    repair = retention([FEDERAL, massachusetts], Record.SEPARATOR_REPAIR, date(2026, 10, 5))
    assert repair.longest is not None
    assert repair.longest.rule == "US-441-07"


def test_every_record_has_a_term_of_its_own() -> None:
    older = Trigger(Event.RECORD_MADE, date(2024, 5, 1), "pickup", 10, record=Record.PICKUP)
    newer = Trigger(Event.RECORD_MADE, date(2026, 5, 1), "pickup", 90, record=Record.PICKUP)

    found = obligations([FEDERAL], [older, newer])

    assert [(one.due_on, one.binds) for one in found] == [(date(2027, 5, 1), True), (date(2029, 5, 1), True)]


def test_records_that_no_rule_names_have_no_term() -> None:
    kept = retention([FEDERAL], Record.DEPOSIT_LOG, MONDAY)

    assert kept.longest is None
    assert kept.lasting == ()


def test_a_class_of_records_belongs_to_records_only() -> None:
    with pytest.raises(ValueError, match="record made"):
        Trigger(Event.RECORD_MADE, MONDAY, "pickup", 1)
    with pytest.raises(ValueError, match="record made"):
        Trigger(Event.LINE_CLEANED, MONDAY, "room", 1, record=Record.PICKUP)


def test_duty_that_is_done_is_left_out_while_others_of_the_event_run() -> None:
    released = Trigger(Event.PICKUP_RELEASED, date(2026, 5, 1), "P1", 60, done=frozenset({"chase-receipt"}))

    found = obligations([CONVENTIONS], [released])

    assert [(one.rule, one.due_on) for one in found] == [
        ("OFFICE-RECEIPT-45", date(2026, 6, 15)),
        ("OFFICE-RECEIPT-60", date(2026, 6, 30)),
    ]


def test_receipts_are_chased_in_three_stages_each_binding_by_itself() -> None:
    found = obligations([FEDERAL, CONVENTIONS], [Trigger(Event.PICKUP_RELEASED, date(2026, 5, 1), "P1", 60)])

    assert [one.due_on for one in found] == [date(2026, 5, 31), date(2026, 6, 15), date(2026, 6, 30)]
    assert all(one.binds and one.force is Force.CONVENTION for one in found)
    assert found[0].advised_on == date(2026, 5, 29)


def test_recurring_duty_counts_from_its_latest_event() -> None:
    weekly = Manual(inspect_every=Interval(7, Unit.DAYS))
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2020, 1, 6), "separator", 2, manual=weekly)
    inspected = [
        Trigger(Event.SEPARATOR_INSPECTED, on, "separator", seq, manual=weekly)
        for seq, on in [(80, date(2026, 3, 9)), (70, date(2026, 3, 2))]
    ]

    (found,) = [one for one in obligations([FEDERAL], [installed, *inspected]) if one.rule == "US-441-06"]

    assert (found.due_on, found.trigger_seq, found.basis) == (date(2026, 3, 16), 80, Basis.MANUAL)
    assert found.counted == "7 days by the manual from the last inspection of the separator, 2026-03-09"


def test_inspection_typed_in_later_from_paper_does_not_count_as_the_latest() -> None:
    weekly = Manual(inspect_every=Interval(7, Unit.DAYS))
    inspected = Trigger(Event.SEPARATOR_INSPECTED, date(2026, 3, 9), "separator", 80, manual=weekly)
    from_paper = Trigger(Event.SEPARATOR_INSPECTED, date(2026, 2, 2), "separator", 95, manual=weekly)

    (found,) = obligations([FEDERAL], [inspected, from_paper])

    assert (found.due_on, found.trigger_seq) == (date(2026, 3, 16), 80)


@pytest.mark.parametrize("order", [1, -1])
def test_soonest_of_two_forecasts_counts(order: int) -> None:
    forecasts = [
        Trigger(Event.RETAINING_UNIT_FULL, on, "separator", is_forecast=True)
        for on in (date(2026, 9, 1), date(2026, 11, 1))
    ]

    (found,) = obligations([FEDERAL], forecasts[::order])

    assert found.due_on == date(2026, 9, 1)


def test_full_unit_is_due_even_where_no_start_is_on_record() -> None:
    full = Trigger(Event.RETAINING_UNIT_FULL, MONDAY, "separator", 33)

    (found,) = obligations([FEDERAL], [full])

    assert (found.rule, found.due_on, found.basis, found.is_forecast) == ("US-441-05", MONDAY, Basis.EVENT, False)


def test_forecast_does_not_hide_that_the_manual_is_missing() -> None:
    replaced = Trigger(Event.RETAINING_UNIT_REPLACED, MONDAY, "separator", 33)
    full = Trigger(Event.RETAINING_UNIT_FULL, date(2026, 9, 1), "separator", is_forecast=True)

    (found,) = obligations([FEDERAL], [replaced, full])
    (gap,) = undated([FEDERAL], [replaced, full])

    assert (found.due_on, found.is_forecast) == (date(2026, 9, 1), True)
    assert (gap.rule, gap.is_gap, gap.trigger_seq) == ("US-441-05", True, 33)
    assert "manual" in gap.why


def test_malfunction_not_yet_found_gives_nothing() -> None:
    assert obligations([FEDERAL, CONVENTIONS], []) == ()
    assert undated([FEDERAL, CONVENTIONS], []) == ()


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (date(2026, 5, 21), DueState.LATER),
        (date(2026, 5, 22), DueState.DUE_SOON),  # seven days before the advised Friday, 29 May
        (date(2026, 5, 31), DueState.DUE_SOON),
        (date(2026, 6, 1), DueState.OVERDUE),
    ],
)
def test_states_turn_on_the_day(today: date, state: DueState) -> None:
    (found,) = obligations([FEDERAL], [Trigger(Event.FIRST_DISCHARGE, MONDAY, "site", 1)])

    assert found.state_on(today, soon_days=7) is state


def test_last_day_of_a_term_is_still_kept() -> None:
    kept = retention([FEDERAL], Record.PICKUP, date(2026, 2, 28)).longest

    assert kept is not None
    assert kept.state_on(date(2029, 2, 28), soon_days=30) is DueState.KEEP
    assert kept.state_on(date(2029, 3, 1), soon_days=30) is DueState.TERM_OVER


def test_kept_while_something_lasts_is_no_gap() -> None:
    rules = an_ordinance(
        "district",
        a_rule(
            duty="keep-records",
            kind=Kind.RETENTION,
            triggers=(Event.RECORD_MADE,),
            records=(Record.SEPARATOR_FILE,),
            due=WhileLasting(Lasting.IN_USE),
        ),
    )

    kept = retention([rules], Record.SEPARATOR_FILE, MONDAY)

    assert [(one.why, one.is_gap) for one in kept.lasting] == [("Kept as long as the device is in use.", False)]


def test_fixed_day_stays_whatever_the_event() -> None:
    rules = an_ordinance("state", a_rule(due=OnDay(date(2027, 6, 14))))

    found = obligations([rules], [first_waste(date(2026, 1, 5), "C1"), first_waste(date(2027, 6, 1), "C2")])

    assert {one.due_on for one in found} == {date(2027, 6, 14)}
