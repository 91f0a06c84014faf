"""The days of a plan: the weekdays on which a practice works, and the days on which it is closed."""

from __future__ import annotations

from datetime import date, datetime

from wasteledger.office.days import FIRST_DAY, LAST_DAY
from wasteledger.ordinance.fields import Table

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_CLOSURE_DAYS = 3653
"""Ten years; a forecast looks no further for a day of work."""

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def working_days(table: Table) -> tuple[int, ...]:
    """The weekdays of ``working_days``, 0 for Monday; Monday to Friday where the key is not there."""
    if table.has("working_days") and table.keys["working_days"] == []:
        table.fault("working_days", "No weekday is left to work on.", f"Name one or more of {', '.join(WEEK)}.")
        return ()
    typed = table.texts("working_days") or WEEK[:5]
    for day in typed:
        if _weekday(day) is None:
            table.fault("working_days", f"“{day}” is no weekday.", f"Write of {', '.join(WEEK)}.")
    return tuple(sorted({weekday for day in typed if (weekday := _weekday(day)) is not None}))


def near_day(table: Table, key: str) -> date | None:
    """The day under *key*, where it is there; a year that nobody means is a fault."""
    day = table.day(key)
    return day if day is None or FIRST_DAY <= day <= LAST_DAY else None


def closures(table: Table) -> tuple[tuple[date, date], ...]:
    """The first and last day of each of ``closures``."""
    if not table.has("closures"):
        return ()
    found: list[tuple[date, date]] = []
    value = table.keys["closures"]
    for one in value if isinstance(value, list) else [value]:
        days = [_as_day(part) for part in (one if isinstance(one, list) else [one, one])]
        if len(days) != 2 or days[0] is None or days[1] is None or days[0] > days[1]:
            table.fault(
                "closures", f"“{one}” is no closure.", "Write a day, or a first and a last: [[2026-12-24, 2026-12-26]]."
            )
        elif days[0] < FIRST_DAY or days[1] > LAST_DAY:
            table.fault(
                "closures",
                f"The closure from {days[0]} to {days[1]} is too far away to reckon with.",
                f"Check the years: days from {FIRST_DAY} to {LAST_DAY} can be given.",
            )
        elif (days[1] - days[0]).days >= LONGEST_CLOSURE_DAYS:
            table.fault(
                "closures",
                f"The closure from {days[0]} to {days[1]} is longer than {LONGEST_CLOSURE_DAYS} days.",
                "Write the day on which the practice opens again.",
            )
        else:
            found.append((days[0], days[1]))
    return tuple(found)


def _weekday(typed: str) -> int | None:
    day = typed.lower()
    return next((place for place, names in enumerate(zip(WEEK, _DAYS, strict=True)) if day in names), None)


def _as_day(value: object) -> date | None:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        return None
