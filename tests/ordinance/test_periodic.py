"""Days that come round, held against python-dateutil's recurrence rules (RFC 5545, 3.3.10) and hand examples."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from dateutil.rrule import YEARLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from tests.ordinance.makers import days
from wasteledger.ordinance.periodic import (
    EARLY_DAYS,
    Done,
    Turn,
    end_of_month_after_quarter,
    first_due_from,
    next_unanswered,
    told,
)
from wasteledger.ordinance.rules import AfterQuarter, EachYear, EveryYears
from wasteledger.ordinance.words import Years

IN_YEAR = st.dates(date(2027, 1, 1), date(2027, 12, 31)).map(lambda day: (day.month, day.day))
EACH = st.builds(
    lambda on, years, opens: EachYear(on[0], on[1], years, opens), IN_YEAR, st.sampled_from(Years), st.none() | IN_YEAR
)
EVERY = st.builds(EveryYears, st.dates(date(1980, 1, 1), date(2050, 12, 31)), st.integers(1, 10))


def first_open_after(due: EachYear | EveryYears, done_on: date, answers_on: date | None = None) -> Turn | None:
    """The turn that stands open once something was done on a day."""
    return next_unanswered(due, done_on, [Done(done_on, answers_on)])


def at(day: date) -> datetime:
    """The day as recurrence rules take it: a time of no zone."""
    return datetime.combine(day, time())


@given(IN_YEAR, days())
def test_each_year_agrees_with_a_recurrence_rule(on: tuple[int, int], start: date) -> None:
    month, day = on
    rule = rrule(YEARLY, dtstart=at(date(1900, 1, 1)), bymonth=month, bymonthday=day)

    turn = first_due_from(EachYear(month, day), start)

    assert turn is not None
    assert at(turn.due_on) == rule.after(at(start), inc=True)


@given(IN_YEAR, days(), st.sampled_from([Years.EVEN, Years.ODD]))
def test_even_and_odd_years_agree_with_a_recurrence_rule(on: tuple[int, int], start: date, years: Years) -> None:
    month, day = on
    first = at(date(1900 if years is Years.EVEN else 1901, 1, 1))
    rule = rrule(YEARLY, interval=2, dtstart=first, bymonth=month, bymonthday=day)

    turn = first_due_from(EachYear(month, day, years), start)

    assert turn is not None
    assert at(turn.due_on) == rule.after(at(start), inc=True)


@given(st.dates(date(1980, 1, 1), date(2026, 12, 31)), st.integers(1, 10), days())
def test_every_so_many_years_agrees_with_a_recurrence_rule(first_on: date, every: int, start: date) -> None:
    if (first_on.month, first_on.day) == (2, 29):
        first_on -= timedelta(
            days=1
        )  # a recurrence rule leaves out years without that day; a deadline falls on the 28th
    rule = rrule(YEARLY, interval=every, dtstart=at(first_on))

    turn = first_due_from(EveryYears(first_on, every), start)

    assert turn is not None
    assert at(turn.due_on) == rule.after(at(start), inc=True)


@pytest.mark.parametrize(
    ("done_on", "next_due_on"),
    [
        (date(2026, 12, 20), date(2027, 3, 31)),  # before the window opened: it answered the year before
        (date(2027, 1, 1), date(2028, 3, 31)),  # on the first day of the window
        (date(2027, 3, 31), date(2028, 3, 31)),
        (date(2027, 6, 10), date(2028, 3, 31)),  # late, and done
    ],
)
def test_what_is_done_in_a_window_answers_its_end(done_on: date, next_due_on: date) -> None:
    turn = first_open_after(EachYear(3, 31, Years.ALL, (1, 1)), done_on)

    assert turn is not None
    assert turn.due_on == next_due_on


def test_a_window_may_open_in_the_year_before() -> None:
    """A window from October to the end of January: what is filed in November answers the next January."""
    window = EachYear(1, 31, Years.ODD, (10, 1))

    early, in_time = first_open_after(window, date(2026, 9, 30)), first_open_after(window, date(2026, 11, 15))

    assert early is not None
    assert in_time is not None
    assert (early.due_on, early.opens_on) == (date(2027, 1, 31), date(2026, 10, 1))
    assert in_time.due_on == date(2029, 1, 31)


def test_without_a_window_ninety_days_count_as_early() -> None:
    due = EachYear(3, 31)
    in_time = first_open_after(due, date(2027, 3, 31) - timedelta(days=EARLY_DAYS))
    too_early = first_open_after(due, date(2027, 3, 31) - timedelta(days=EARLY_DAYS + 1))

    assert in_time is not None
    assert too_early is not None
    assert in_time.due_on == date(2028, 3, 31)
    assert too_early.due_on == date(2027, 3, 31)


def test_a_filing_may_say_which_day_it_answers() -> None:
    due = EachYear(3, 31, Years.EVEN)

    turn = first_open_after(due, date(2027, 5, 1), answers_on=date(2028, 3, 31))

    assert turn is not None
    assert turn.due_on == date(2030, 3, 31)


@pytest.mark.parametrize(
    ("received_on", "due_on"),
    [
        (date(2026, 11, 10), date(2027, 1, 31)),
        (date(2027, 1, 1), date(2027, 4, 30)),
        (date(2027, 3, 31), date(2027, 4, 30)),
        (date(2027, 4, 1), date(2027, 7, 31)),
        (date(2027, 9, 30), date(2027, 10, 31)),
        (date(2027, 12, 31), date(2028, 1, 31)),
    ],
)
def test_reg_53_4_returns_by_the_end_of_the_month_after_the_quarter(received_on: date, due_on: date) -> None:
    """Hazardous Waste (England and Wales) Regulations 2005, reg. 53(4): 30 April, 31 July, 31 October, 31 January."""
    assert end_of_month_after_quarter(AfterQuarter(1), received_on) == due_on


@given(EACH | EVERY, days(), st.integers(0, 2000))
def test_a_later_start_never_gives_an_earlier_turn(due: EachYear | EveryYears, start: date, later: int) -> None:
    for find in (first_due_from, first_open_after):
        one, other = find(due, start), find(due, start + timedelta(days=later))
        assert one is not None
        assert other is not None
        assert one.due_on <= other.due_on
        assert one.opens_on <= one.due_on


@pytest.mark.parametrize("day", [date.min, date(1, 12, 31), date(9998, 12, 31), date.max])
def test_the_ends_of_the_calendar_are_no_crash(day: date) -> None:
    first_due_from(EachYear(2, 28, Years.ODD, (12, 1)), day)
    first_open_after(EachYear(2, 28), day)
    first_open_after(EveryYears(date(2021, 9, 1), 4), day)
    end_of_month_after_quarter(AfterQuarter(12), day)


def test_forms_read_as_people_say_them() -> None:
    assert told(EachYear(1, 31, Years.ODD)) == "by 31 January of odd years"
    assert told(EachYear(3, 31)) == "by 31 March of each year"
    assert told(EveryYears(date(2021, 9, 1), 4)) == "by 1 September every 4 years from 2021"
    assert told(AfterQuarter(1)) == "by the end of the first month after the quarter"


def test_a_day_that_the_rule_no_longer_has_leaves_it_to_the_window() -> None:
    """Filed for 31 March; then the authority moved the day to 15 May, open from 1 February: it answers that one."""
    moved = EachYear(5, 15, Years.ALL, (2, 1))

    turn = first_open_after(moved, date(2026, 2, 10), answers_on=date(2026, 3, 31))

    assert turn is not None
    assert turn.due_on == date(2027, 5, 15)


def test_a_late_filing_says_which_day_it_answers() -> None:
    turn = first_open_after(EachYear(3, 31, Years.ALL, (1, 1)), date(2027, 2, 10), answers_on=date(2026, 3, 31))

    assert turn is not None
    assert turn.due_on == date(2027, 3, 31)


def test_a_missed_day_stays_open_though_a_newer_one_was_answered() -> None:
    yearly, begun = EachYear(12, 31), date(2025, 1, 2)
    newer, older = Done(date(2026, 12, 1), date(2026, 12, 31)), Done(date(2026, 12, 2), date(2025, 12, 31))

    missed, both = next_unanswered(yearly, begun, [newer]), next_unanswered(yearly, begun, [newer, older])

    assert missed is not None
    assert both is not None
    assert missed.due_on == date(2025, 12, 31)
    assert both.due_on == date(2027, 12, 31)


def test_a_day_of_a_year_in_which_nothing_is_due_answers_nothing() -> None:
    """Asked by 31 January of odd years; somebody names 31 January 2026: 2027 stays open."""
    odd, begun = EachYear(1, 31, Years.ODD), date(2025, 11, 25)

    turn = next_unanswered(odd, begun, [Done(date(2026, 11, 25), date(2026, 1, 31))])

    assert turn is not None
    assert turn.due_on == date(2027, 1, 31)
