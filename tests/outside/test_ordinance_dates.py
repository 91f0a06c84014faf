"""Days that 40 CFR Part 441 sets, worked out by hand for each clause, and held against independent arithmetic.

Clauses as read in November 2026: 40 CFR 441.30 and 441.50 (82 FR 27154, 14 June 2017) in the copy of Wis. Admin. Code
NR 229 (2022); 441.30(a)(1)(v) is quoted from memory and marked so in the ordinance file.

The references that we did not make: `numpy.busday_offset` for business days; the Julian day numbers of Fliegel and
Van Flandern (Communications of the ACM 11 (10), 1968, page 657) and numpy's ``datetime64`` for calendar days, months
and years; 5 U.S.C. 6103(a) and (b) for the holidays.
"""

from __future__ import annotations

import calendar
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ordinance.makers import FEDERAL, HOLIDAYS, days
from wasteledger.ordinance import (
    Basis,
    Event,
    Interval,
    Manual,
    Obligation,
    Record,
    Trigger,
    Undated,
    Unit,
    business_days_after,
    obligations,
    retention,
    undated,
)
from wasteledger.ordinance.days import deadline_after, keep_until


def the_obligation(rule: str, *triggers: Trigger) -> Obligation:
    """The one obligation that the federal file's *rule* gives."""
    (found,) = [one for one in obligations([FEDERAL], triggers, holidays=[HOLIDAYS]) if one.rule == rule]
    return found


def julian_day(day: date) -> int:
    """Julian day number, by the formula of Fliegel and Van Flandern; division truncates toward zero."""
    before_march = int((day.month - 14) / 12)
    return (
        day.day
        - 32075
        + 1461 * (day.year + 4800 + before_march) // 4
        + 367 * (day.month - 2 - before_march * 12) // 12
        - 3 * ((day.year + 4900 + before_march) // 100) // 4
    )


def numpy_business_day(start: date, count: int, holidays: list[date]) -> date:
    """The same by numpy, Monday to Friday; a start that is no business day counts as the one before it."""
    return date.fromisoformat(str(np.busday_offset(start, count, roll="backward", holidays=holidays)))


def numpy_months_later(start: date, months: int) -> tuple[date, bool]:
    """The same day of a later month by numpy, and whether that month is too short and its last day was taken."""
    month = np.datetime64(start.isoformat()[:7]) + months
    last = (month + 1).astype("datetime64[D]") - 1
    wished = month.astype("datetime64[D]") + (start.day - 1)
    return date.fromisoformat(str(min(wished, last))), bool(wished > last)


REPORT_EXAMPLES = {
    "E01, 441.50(a)(1)(ii)": ("US-441-01", Event.FIRST_DISCHARGE, date(2026, 3, 2), date(2026, 5, 31), "Mon", "Sun"),
    "E02, 441.50(a)(1)(ii)": ("US-441-01", Event.FIRST_DISCHARGE, date(2027, 12, 1), date(2028, 2, 29), "Wed", "Tue"),
    "E03, 441.50(a)(4)": ("US-441-02", Event.OWNERSHIP_TRANSFERRED, date(2026, 7, 1), date(2026, 9, 29), "Wed", "Tue"),
    "E04, 441.50(a)(4)": (
        "US-441-02",
        Event.OWNERSHIP_TRANSFERRED,
        date(2026, 11, 30),
        date(2027, 2, 28),
        "Mon",
        "Sun",
    ),
    "E05, 441.50(a)(1)(i)": (
        "US-441-02",
        Event.OWNERSHIP_TRANSFERRED,
        date(2020, 7, 14),
        date(2020, 10, 12),
        "Tue",
        "Mon",
    ),
}


@pytest.mark.parametrize(
    ("rule", "event", "on", "due_on", "on_day", "due_day"), REPORT_EXAMPLES.values(), ids=REPORT_EXAMPLES
)
def test_441_50_a_report_within_ninety_calendar_days(
    rule: str, event: Event, on: date, due_on: date, on_day: str, due_day: str
) -> None:
    """40 CFR 441.50(a)(1), (4): ninety days, never rolled. E05: the clause's own 12 October 2020, a federal holiday."""
    found = the_obligation(rule, Trigger(event, on, "site", 7))

    assert found.due_on == due_on
    assert (on.strftime("%a"), found.due_on.strftime("%a")) == (on_day, due_day)
    assert julian_day(found.due_on) - julian_day(on) == 90
    assert np.datetime64(on) + np.timedelta64(90, "D") == np.datetime64(found.due_on)
    assert found.due_with_holidays_on is None


def test_e01_true_day_is_a_sunday_and_the_friday_before_is_advised() -> None:
    """40 CFR 441.50(a)(1)(ii): the Sunday is the last permitted day; Friday 29 May 2026 is advice beside it."""
    found = the_obligation("US-441-01", Trigger(Event.FIRST_DISCHARGE, date(2026, 3, 2), "site", 7))

    assert found.due_on == date(2026, 5, 31)
    assert found.advised_on == date(2026, 5, 29)
    assert found.advised_on.strftime("%a") == "Fri"
    assert found.advised_on == numpy_business_day(found.due_on, 0, [])


REPAIR_EXAMPLES = {
    "E06": (date(2026, 4, 1), date(2026, 4, 15), date(2026, 4, 15), "Wed", "Wed", "Wed"),
    "E07, 4 July on a Saturday": (date(2026, 6, 26), date(2026, 7, 10), date(2026, 7, 13), "Fri", "Fri", "Mon"),
    "E09, Thanksgiving": (date(2026, 11, 16), date(2026, 11, 30), date(2026, 12, 1), "Mon", "Mon", "Tue"),
    "E11, the turn of the year": (date(2026, 12, 18), date(2027, 1, 1), date(2027, 1, 5), "Fri", "Fri", "Tue"),
}


@pytest.mark.parametrize(
    ("found_on", "due_on", "with_holidays_on", "found_day", "due_day", "with_holidays_day"),
    REPAIR_EXAMPLES.values(),
    ids=REPAIR_EXAMPLES,
)
def test_441_30_a_1_v_repair_within_ten_business_days(
    found_on: date, due_on: date, with_holidays_on: date, found_day: str, due_day: str, with_holidays_day: str
) -> None:
    """40 CFR 441.30(a)(1)(v), from memory: both readings; the earlier, which leaves out weekends only, is due."""
    found = the_obligation("US-441-03", Trigger(Event.MALFUNCTION_FOUND, found_on, "separator", 12))

    assert found.due_on == due_on
    assert found.due_with_holidays_on == with_holidays_on
    assert found_on.strftime("%a") == found_day
    assert (found.due_on.strftime("%a"), with_holidays_on.strftime("%a")) == (due_day, with_holidays_day)
    assert found.due_on == numpy_business_day(found_on, 10, [])
    assert with_holidays_on == numpy_business_day(found_on, 10, sorted(HOLIDAYS.rest_days))
    assert not found.confirmed
    assert found.standing_of_source.startswith("NOT CONFIRMED")


def test_e13_legacy_separator_goes_by_14_june_2027() -> None:
    """40 CFR 441.30(a)(1)(iii): installed before 14 June 2017. A unit of that day itself is not from before it."""
    legacy = the_obligation("US-441-04", Trigger(Event.SEPARATOR_INSTALLED, date(2015, 5, 20), "separator", 3))
    the_day_itself = Trigger(Event.SEPARATOR_INSTALLED, date(2017, 6, 14), "separator", 3)
    the_day_before = Trigger(Event.SEPARATOR_INSTALLED, date(2017, 6, 13), "separator", 3)

    assert legacy.due_on == date(2027, 6, 14)
    assert legacy.due_on.strftime("%a") == "Mon"
    assert legacy.basis is Basis.FIXED_DAY
    assert [one for one in obligations([FEDERAL], [the_day_itself]) if one.rule == "US-441-04"] == []
    assert the_obligation("US-441-04", the_day_before).due_on == date(2027, 6, 14)


@pytest.mark.parametrize(
    ("full_on", "due_on", "weekday", "basis"),
    [
        pytest.param(date(2026, 11, 3), date(2026, 11, 3), "Tue", Basis.FORECAST, id="E14, the level comes first"),
        pytest.param(date(2027, 6, 1), date(2027, 1, 15), "Fri", Basis.MANUAL, id="E15, the schedule comes first"),
    ],
)
def test_441_30_a_1_vi_unit_by_schedule_or_level_whichever_first(
    full_on: date, due_on: date, weekday: str, basis: Basis
) -> None:
    """40 CFR 441.30(a)(1)(vi): replaced 15 January 2026, twelve months by the manual, and a forecast of the level."""
    manual = Manual(replace_every=Interval(12, Unit.MONTHS))
    replaced = Trigger(Event.RETAINING_UNIT_REPLACED, date(2026, 1, 15), "separator", 40, manual=manual)
    forecast = Trigger(Event.RETAINING_UNIT_FULL, full_on, "separator", is_forecast=True)

    found = the_obligation("US-441-05", replaced, forecast)

    assert found.due_on == due_on
    assert found.due_on.strftime("%a") == weekday
    assert found.basis is basis
    assert found.is_forecast == (basis is Basis.FORECAST)
    assert min(full_on, numpy_months_later(replaced.on, 12)[0]) == due_on


@pytest.mark.parametrize(
    ("made_on", "last_day", "weekday"),
    [
        pytest.param(date(2026, 2, 28), date(2029, 2, 28), "Wed", id="E16"),
        pytest.param(date(2028, 2, 29), date(2031, 3, 1), "Sat", id="E17, a leap day"),
    ],
)
def test_441_50_b_records_for_three_years(made_on: date, last_day: date, weekday: str) -> None:
    """40 CFR 441.50(b): at least three years; a record of 29 February is kept to 1 March."""
    for record in (
        Record.SEPARATOR_INSPECTION,
        Record.RETAINING_UNIT_REPLACEMENT,
        Record.PICKUP,
        Record.SEPARATOR_REPAIR,
    ):
        kept = retention([FEDERAL], record, made_on)

        assert kept.longest is not None
        assert kept.longest.rule == "US-441-07"
        assert kept.longest.due_on == last_day
        assert kept.longest.due_on.strftime("%a") == weekday
    by_numpy, is_short = numpy_months_later(made_on, 36)
    assert by_numpy + timedelta(days=is_short) == last_day


def test_441_50_a_5_report_is_kept_without_a_term() -> None:
    """40 CFR 441.50(a)(5): the one-time report is kept while the office operates, or until ownership is transferred."""
    kept = retention([FEDERAL], Record.ONE_TIME_REPORT, date(2026, 5, 1))

    assert kept.longest is None
    assert [(one.rule, one.is_gap) for one in kept.lasting] == [("US-441-08", False)]
    assert "transferred" in kept.lasting[0].why


def test_441_30_a_1_iv_sets_no_interval_of_its_own() -> None:
    """40 CFR 441.30(a)(1)(iv): by the manual; without the manual's interval there is a gap, and no day is made up."""
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2020, 3, 2), "separator", 2)

    assert not [one for one in obligations([FEDERAL], [installed]) if one.rule == "US-441-06"]
    gaps: list[Undated] = [one for one in undated([FEDERAL], [installed]) if one.is_gap]
    assert [gap.rule for gap in gaps] == ["US-441-05", "US-441-06"]


@given(days(), st.integers(1, 300), st.booleans())
def test_business_days_agree_with_numpy(start: date, count: int, leaves_holidays_out: bool) -> None:
    """Monday to Friday, with and without holidays, from any day of the week."""
    rest_days = sorted(HOLIDAYS.rest_days) if leaves_holidays_out else []

    assert business_days_after(start, count, rest_days) == numpy_business_day(start, count, rest_days)


@given(days(), st.integers(1, 5000))
def test_calendar_days_agree_with_julian_day_numbers(start: date, count: int) -> None:
    """Days are neither lost nor won over months, years and centuries."""
    end = deadline_after(start, Interval(count, Unit.DAYS))

    assert julian_day(end) - julian_day(start) == count
    assert np.datetime64(end) - np.datetime64(start) == np.timedelta64(count, "D")


@given(days(), st.integers(1, 600))
def test_months_agree_with_numpy(start: date, count: int) -> None:
    """The same day of the month; where there is none, a deadline takes the last day and a record the next one."""
    by_numpy, is_short = numpy_months_later(start, count)
    interval = Interval(count, Unit.MONTHS)

    assert deadline_after(start, interval) == by_numpy
    assert keep_until(start, interval) == by_numpy + timedelta(days=is_short)


@given(days(), st.integers(1, 100))
def test_years_agree_with_numpy(start: date, count: int) -> None:
    """Twelve months each."""
    by_numpy, is_short = numpy_months_later(start, 12 * count)
    interval = Interval(count, Unit.YEARS)

    assert deadline_after(start, interval) == by_numpy
    assert keep_until(start, interval) == by_numpy + timedelta(days=is_short)


@pytest.mark.parametrize("year", range(2022, 2033))
def test_5_usc_6103_holidays_as_observed(year: int) -> None:
    """5 U.S.C. 6103(a): days of the month and Mondays; (b): a Saturday's holiday is observed on the Friday before.

    That a Sunday's is observed on the Monday after stands in Executive Order 11582, from memory. The days fall in the
    calendar year in which they are observed, so that 1 January of the next year may belong here.
    """

    def nth(weekday: str, n: int, month: int) -> date:
        return date.fromisoformat(str(np.busday_offset(f"{year}-{month:02}", n - 1, roll="forward", weekmask=weekday)))

    last_monday_of_may = max(day for week in calendar.monthcalendar(year, 5) if (day := week[calendar.MONDAY]))
    fixed = [date(y, m, d) for y in (year, year + 1) for m, d in [(1, 1), (6, 19), (7, 4), (11, 11), (12, 25)]]
    observed = {day + timedelta(days={5: -1, 6: 1}.get(day.weekday(), 0)) for day in fixed}
    floating = {
        nth("Mon", 3, 1),
        nth("Mon", 3, 2),
        date(year, 5, last_monday_of_may),
        nth("Mon", 1, 9),
        nth("Mon", 2, 10),
        nth("Thu", 4, 11),
    }

    assert {day for day in HOLIDAYS.rest_days if day.year == year} == floating | {d for d in observed if d.year == year}
