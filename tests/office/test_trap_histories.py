"""Swaps of each trap while it was in service: corrections, changed intervals, breaks, and looks that fell."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    MONDAY_MORNING,
    SET_UP_AT,
    ZONE,
    Clinic,
    a_correction,
    a_look,
    a_repair,
    a_replacement,
    a_separator,
    a_swap,
    a_trap,
    a_unit_replacement,
    an_opening,
)
from wasteledger.estimate.rhythm import TrapHistory
from wasteledger.model.traps import Condition
from wasteledger.office.trap_histories import LOOK_BACK_DAYS, swap_facts, trap_histories

CHICAGO = ZoneInfo(ZONE)
REGISTERED, TODAY = SET_UP_AT.date(), MONDAY_MORNING.date()
FEBRUARY = date(2026, 2, 1)


def on(day: int, month: int = 2, hour: int = 12) -> datetime:
    """Some hour of a day of 2026 in Chicago."""
    return datetime(2026, month, day, hour, tzinfo=CHICAGO)


def histories(clinic: Clinic, first_on: date = FEBRUARY, last_on: date = TODAY) -> list[TrapHistory]:
    """Every history of the period."""
    with clinic.ledger.reading(clinic.site) as reader:
        swaps = swap_facts(reader, CHICAGO, first_on - timedelta(days=LOOK_BACK_DAYS), last_on)
        return list(trap_histories(reader, CHICAGO, first_on, last_on, swaps))


def of(trap: str, among: Iterable[TrapHistory]) -> list[TrapHistory]:
    """The histories of one trap."""
    return [one for one in among if one.trap == trap]


@pytest.fixture
def working(clinic: Clinic) -> Clinic:
    """The practice with a pail open since it was set up."""
    clinic.append(an_opening(), SET_UP_AT + timedelta(minutes=1))
    return clinic


def test_every_trap_in_service_has_a_history(working: Clinic) -> None:
    found = {one.trap: one for one in histories(working)}

    assert set(found) == {"1-SE", "1-HV", "2-SE", "2-HV", "PUMP", "SEP"}
    assert found["1-HV"] == TrapHistory("1-HV", "high_volume", "r1", (), REGISTERED, TODAY, 7)
    assert found["SEP"] == TrapHistory("SEP", "separator_unit", "", (), REGISTERED, TODAY, 365)


def test_only_swaps_that_count_are_in_it_by_local_day(working: Clinic) -> None:
    working.append(a_swap(), on(3))
    void = working.append(a_swap(), on(10)).entry
    other_trap = working.append(a_swap(), on(11)).entry
    moved = working.append(a_swap(), on(12)).entry
    working.append(a_swap(), on(20, hour=23))  # the 21st in UTC
    working.append(a_correction(void))
    working.append(a_replacement(other_trap, a_swap("2-HV")))
    working.append(a_replacement(moved, happened_at=on(14)))

    found = histories(working)

    assert of("1-HV", found)[0].swapped_on == (date(2026, 2, 3), date(2026, 2, 14), date(2026, 2, 20))
    assert of("2-HV", found)[0].swapped_on == (date(2026, 2, 11),)


def test_swaps_before_the_period_teach_the_rhythm_and_later_ones_do_not_count(working: Clinic) -> None:
    for day in (on(20, 1), on(3), on(1, 3)):
        working.append(a_swap(), day)

    (history,) = of("1-HV", histories(working, last_on=date(2026, 2, 28)))

    assert history.swapped_on == (date(2026, 1, 20), date(2026, 2, 3))
    assert history.to == date(2026, 2, 28)


def test_a_new_interval_begins_a_new_rhythm_at_the_last_swap(working: Clinic) -> None:
    for day in (3, 10, 24):
        working.append(a_swap(), on(day))
    working.append(a_trap(interval_days=14), on(12))

    before, after = of("1-HV", histories(working))

    assert (before.interval_days, before.to, before.swapped_on) == (
        7,
        date(2026, 2, 12),
        (date(2026, 2, 3), date(2026, 2, 10)),
    )
    assert (after.interval_days, after.in_service_from, after.to) == (14, date(2026, 2, 10), TODAY)
    assert after.swapped_on == (date(2026, 2, 10), date(2026, 2, 24))


def test_another_room_or_a_new_insert_begins_nothing(working: Clinic) -> None:
    working.append(a_swap(), on(3))
    working.append(a_trap(room="r2", insert_mg=4_000), on(12))

    (history,) = of("1-HV", histories(working))

    assert (history.room, history.in_service_from, history.swapped_on) == ("r2", REGISTERED, (date(2026, 2, 3),))


def test_a_break_in_service_is_no_gap(working: Clinic) -> None:
    working.append(a_swap(), on(3))
    working.append(a_trap(retired=True), on(5))
    working.append(a_trap(), on(20))
    working.append(a_swap(), on(24))

    before, after = of("1-HV", histories(working))

    assert (before.to, before.swapped_on) == (date(2026, 2, 5), (date(2026, 2, 3),))
    assert (after.in_service_from, after.swapped_on) == (date(2026, 2, 20), (date(2026, 2, 24),))
    assert of("1-HV", histories(working, first_on=date(2026, 2, 6), last_on=date(2026, 2, 19))) == []


def test_a_swap_that_was_not_read_begins_no_gap(clinic: Clinic) -> None:
    clinic.watch.now = MONDAY_MORNING + timedelta(days=1000)
    today = clinic.watch.now.date()
    clinic.append(an_opening(), SET_UP_AT + timedelta(minutes=1))
    for days in (0, 995, 998):
        clinic.append(a_swap(), MONDAY_MORNING + timedelta(days=days))

    first_on = today - timedelta(days=30)
    swapped, never = (of(trap, histories(clinic, first_on, today))[0] for trap in ("1-HV", "2-HV"))

    assert swapped.in_service_from == swapped.swapped_on[0] == TODAY + timedelta(days=995)
    assert never.in_service_from == first_on - timedelta(days=LOOK_BACK_DAYS)


def test_a_separator_begins_anew_with_its_unit_or_as_a_whole(working: Clinic) -> None:
    working.append(a_unit_replacement(), on(3))
    working.append(a_repair(), on(10))
    working.append(a_repair("replaced"), on(17))

    (history,) = of("SEP", histories(working))

    assert history.swapped_on == (date(2026, 2, 3), date(2026, 2, 17))
    working.append(a_separator(replace_unit_every_months=6), on(20))
    assert [one.interval_days for one in of("SEP", histories(working))] == [365, 182]


def test_a_clogged_trap_that_is_clean_without_a_swap_fell(working: Clinic) -> None:
    for day, condition in ((3, Condition.CLOGGED), (4, Condition.DEBRIS), (5, Condition.CLEAN), (6, Condition.CLEAN)):
        working.append(a_look(condition=condition), on(day))
    working.append(a_look(condition=Condition.CLOGGED), on(10))
    working.append(a_swap(), on(11))
    working.append(a_look(condition=Condition.CLEAN), on(12))
    working.append(a_look("2-HV", condition=Condition.CLEAN), on(12))

    found = histories(working)

    assert of("1-HV", found)[0].falls == ((date(2026, 2, 3), date(2026, 2, 5)),)
    assert of("2-HV", found)[0].falls == ()
