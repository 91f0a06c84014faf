"""Counting of days: boundaries that the outside examples leave open."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given

from tests.ordinance.makers import HOLIDAYS, days, intervals, work_calendars
from wasteledger.ordinance import Interval, Unit, WorkCalendar
from wasteledger.ordinance.days import deadline_after, deadline_with_holidays, keep_until

TEN_BUSINESS_DAYS = Interval(10, Unit.BUSINESS_DAYS, holidays="us-federal")


def test_malfunction_found_on_a_saturday_counts_from_the_monday() -> None:
    saturday = date(2026, 3, 7)

    assert deadline_after(saturday, Interval(1, Unit.BUSINESS_DAYS)) == date(2026, 3, 9)
    assert deadline_after(saturday, TEN_BUSINESS_DAYS) == date(2026, 3, 20)


def test_no_second_reading_where_the_holidays_of_a_year_are_not_known() -> None:
    last_known = date(2032, 12, 16)  # ten days on, with two holidays left out, lead into 2033

    assert deadline_with_holidays(date(2032, 12, 1), TEN_BUSINESS_DAYS, [HOLIDAYS]) == date(2032, 12, 15)
    assert deadline_with_holidays(last_known, TEN_BUSINESS_DAYS, [HOLIDAYS]) is None
    assert deadline_with_holidays(date(2021, 12, 29), TEN_BUSINESS_DAYS, [HOLIDAYS]) is None


def test_no_second_reading_without_the_named_holidays() -> None:
    assert deadline_with_holidays(date(2026, 6, 26), TEN_BUSINESS_DAYS, []) is None
    assert deadline_with_holidays(date(2026, 6, 26), Interval(10, Unit.BUSINESS_DAYS), [HOLIDAYS]) is None
    assert deadline_with_holidays(date(2026, 6, 26), Interval(14, Unit.DAYS, "us-federal"), [HOLIDAYS]) is None


def test_closed_days_move_the_advice_and_nothing_else() -> None:
    practice = WorkCalendar(frozenset({0, 1, 2, 3}), frozenset({date(2026, 5, 28)}))

    # Sunday 31 May; the practice rests Friday to Sunday, and is closed on that Thursday.
    assert practice.last_working_day(date(2026, 5, 31), not_before=date(2026, 3, 2)) == date(2026, 5, 27)


def test_practice_without_named_weekdays_works_monday_to_friday() -> None:
    assert WorkCalendar(frozenset()).works_on(date(2026, 5, 29))
    assert not WorkCalendar(frozenset()).works_on(date(2026, 5, 30))


def test_practice_closed_until_the_due_day_is_advised_that_day_itself() -> None:
    closed = frozenset(date(2026, 5, 1) + timedelta(days=n) for n in range(31))

    advised = WorkCalendar(closed_days=closed).last_working_day(date(2026, 5, 20), not_before=date(2026, 5, 4))

    assert advised == date(2026, 5, 20)


@pytest.mark.parametrize("unit", list(Unit))
def test_the_calendar_s_end_is_no_crash(unit: Unit) -> None:
    last = date(9999, 12, 30)

    assert deadline_after(last, Interval(5, unit)) == date.max
    assert keep_until(last, Interval(5, unit)) == date.max
    assert deadline_with_holidays(last, Interval(5, unit, holidays="us-federal"), [HOLIDAYS]) is None


def test_the_calendar_s_beginning_is_no_crash() -> None:
    sunday = date(1, 1, 7)

    assert WorkCalendar(frozenset({0})).last_working_day(sunday, not_before=date.min) == date(1, 1, 1)
    assert WorkCalendar(frozenset({6})).last_working_day(date(1, 1, 6), not_before=date.min) == date(1, 1, 6)


def test_thirty_first_plus_one_month() -> None:
    one_month = Interval(1, Unit.MONTHS)

    assert deadline_after(date(2026, 1, 31), one_month) == date(2026, 2, 28)
    assert keep_until(date(2026, 1, 31), one_month) == date(2026, 3, 1)


def test_intervals_read_as_people_say_them() -> None:
    assert str(Interval(1, Unit.YEARS)) == "1 year"
    assert str(Interval(12, Unit.MONTHS)) == "12 months"
    assert str(Interval(1, Unit.BUSINESS_DAYS)) == "1 business day"


@given(days(), days(), intervals())
def test_a_later_start_never_ends_earlier(one: date, other: date, interval: Interval) -> None:
    first, second = sorted((one, other))

    assert deadline_after(first, interval) <= deadline_after(second, interval)
    assert keep_until(first, interval) <= keep_until(second, interval)


@given(days(), intervals())
def test_a_record_is_never_kept_shorter_than_a_deadline_of_that_length(start: date, interval: Interval) -> None:
    assert start < deadline_after(start, interval) <= keep_until(start, interval)


@given(days(), intervals(), work_calendars())
def test_advice_is_a_working_day_in_time_or_the_due_day_itself(
    start: date, interval: Interval, practice: WorkCalendar
) -> None:
    due_on = deadline_after(start, interval)

    advised_on = practice.last_working_day(due_on, not_before=start)

    assert start <= advised_on <= due_on
    assert practice.works_on(advised_on) or advised_on == due_on
    between = [advised_on + timedelta(days=n) for n in range(1, (due_on - advised_on).days + 1)]
    assert not any(practice.works_on(day) for day in between)
