"""Counting days as ordinances count them: calendar and business days, months, years, holidays, working days.

The policy, where a rule is silent:

- day 0 is the day of the event, and the due day is the last day that is permitted;
- calendar days never roll off a weekend or a holiday (40 CFR 441.50(a)(1) itself fixed 12 October 2020, a federal
  holiday, as a due day); the last working day before is shown beside it as advice, never in its place;
- a business day is Monday to Friday. 40 CFR Part 441 does not say whether holidays count, so both answers are
  given: weekends alone left out is the earlier and the one that binds;
- what would be due after the last day of the calendar (the year 9999) is due on that day;
- months and years keep the day of the month. Where that day does not exist (29 February in a common year), a deadline
  falls on the last day of the month, and a record is kept to the first day of the next.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from dateutil.relativedelta import relativedelta

_FRIDAY = 4
_MONDAY_TO_FRIDAY = frozenset(range(_FRIDAY + 1))


class Unit(StrEnum):
    """What an interval is counted in."""

    DAYS = "days"
    BUSINESS_DAYS = "business_days"
    MONTHS = "months"
    YEARS = "years"


@dataclass(frozen=True, slots=True)
class Interval:
    """A count of days, business days, months or years, one or more.

    Attributes:
        count: How many.
        unit: Of what.
        holidays: Id of the holidays that a second reading of business days leaves out; empty where there is none.

    >>> str(Interval(10, Unit.BUSINESS_DAYS))
    '10 business days'
    """

    count: int
    unit: Unit
    holidays: str = ""

    def __str__(self) -> str:
        noun = self.unit.value.replace("_", " ")
        return f"{self.count} {noun if self.count != 1 else noun.removesuffix('s')}"


@dataclass(frozen=True, slots=True)
class Holidays:
    """The days of some calendar years on which a named calendar rests.

    Attributes:
        id: Short name, by which an ordinance refers to it.
        title: Name as people read it.
        source: Where the days were read.
        years: Calendar years that the days are complete for; nothing is known of any other year.
        days: Name of each day of rest, by day.
    """

    id: str
    title: str
    source: str
    years: frozenset[int]
    days: tuple[tuple[date, str], ...]

    @property
    def rest_days(self) -> frozenset[date]:
        """The days alone."""
        return frozenset(day for day, _ in self.days)

    def covers(self, first: date, last: date) -> bool:
        """Whether every year from *first* to *last* is known."""
        return all(year in self.years for year in range(first.year, last.year + 1))


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """When a practice works: weekdays (0 is Monday, 6 is Sunday) and single days on which it is closed.

    Without weekdays it is taken to work from Monday to Friday.
    """

    working_weekdays: frozenset[int] = _MONDAY_TO_FRIDAY
    closed_days: frozenset[date] = frozenset()

    def works_on(self, day: date) -> bool:
        """Whether somebody is at work on *day*."""
        return day.weekday() in (self.working_weekdays or _MONDAY_TO_FRIDAY) and day not in self.closed_days

    def last_working_day(self, day: date, *, not_before: date) -> date:
        """The last working day on or before *day*; *day* itself when none is left since *not_before*.

        >>> WorkCalendar().last_working_day(date(2026, 5, 31), not_before=date(2026, 3, 2))
        datetime.date(2026, 5, 29)
        """
        for number in range((day - not_before).days + 1):
            back = day - timedelta(days=number)
            if self.works_on(back):
                return back
        return day


def deadline_after(start: date, interval: Interval) -> date:
    """The last permitted day, *interval* after *start*; business days leave out weekends alone.

    >>> deadline_after(date(2024, 2, 29), Interval(1, Unit.YEARS))
    datetime.date(2025, 2, 28)
    """
    if interval.unit is Unit.BUSINESS_DAYS:
        return business_days_after(start, interval.count)
    try:
        return start + _span(interval)
    except (ValueError, OverflowError):
        return date.max


def keep_until(start: date, interval: Interval) -> date:
    """The last day of a record's term, *interval* after *start*; a day that does not exist becomes the next one.

    >>> keep_until(date(2028, 2, 29), Interval(3, Unit.YEARS))
    datetime.date(2031, 3, 1)
    """
    end = deadline_after(start, interval)
    fell_short = interval.unit in (Unit.MONTHS, Unit.YEARS) and end.day != start.day and end < date.max
    return end + timedelta(days=1) if fell_short else end


def deadline_with_holidays(start: date, interval: Interval, holidays: Sequence[Holidays]) -> date | None:
    """The later reading of a business-day deadline, with the interval's holidays left out as well.

    None when the interval is not in business days, names no holidays, or reaches into a year that they do not cover.
    """
    named = next((known for known in holidays if known.id == interval.holidays), None)
    if interval.unit is not Unit.BUSINESS_DAYS or named is None:
        return None
    end = business_days_after(start, interval.count, named.rest_days)
    return end if named.covers(start, end) else None


def business_days_after(start: date, count: int, rest_days: Collection[date] = frozenset()) -> date:
    """The *count*-th day after *start* that is Monday to Friday and none of *rest_days*.

    >>> business_days_after(date(2026, 6, 26), 10, {date(2026, 7, 3)})
    datetime.date(2026, 7, 13)
    """
    day = start
    while count and day < date.max:
        day += timedelta(days=1)
        if day.weekday() <= _FRIDAY and day not in rest_days:
            count -= 1
    return day


def _span(interval: Interval) -> relativedelta:
    match interval.unit:
        case Unit.MONTHS:
            return relativedelta(months=interval.count)
        case Unit.YEARS:
            return relativedelta(years=interval.count)
        case _:
            return relativedelta(days=interval.count)
