"""Priors, inflows and days for the tests of this folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from wasteledger.estimate.prior import Prior
from wasteledger.forecast.fill import Gauge, Inflow, Outlook, outlook
from wasteledger.forecast.rates import Rate
from wasteledger.forecast.working_time import WorkingTime

FRIDAY = date(2026, 3, 6)

WEEKDAYS = WorkingTime(FRIDAY, lambda day: day.weekday() < 5)


def a_prior(*, shared_cv: float = 0.2, degrees_of_freedom: float = float("inf"), cv: float = 1.0) -> Prior:
    """Two kinds: traps of 3 g and filters of 15 g."""
    made = Prior.sharing(
        ("high_volume", "line_filter"),
        (3000.0, 15000.0),
        (3000.0 * cv, 15000.0 * cv),
        (7, 30),
        {},
        shared_cv=shared_cv,
        between_kinds=0.5,
    )
    return replace(made, degrees_of_freedom=degrees_of_freedom)


def a_rate(per_day: float = 0.6, *, swaps: float = 60.0, dispersion: float = 0.2, seen: int = 60) -> Rate:
    """A rate that so many swaps stand behind."""
    return Rate(swaps, swaps / per_day, dispersion, seen, round(seen / per_day))


def traps(per_day: float = 0.6, **more: Any) -> Inflow:
    """High-volume traps, fully clogged."""
    return Inflow("high_volume", a_rate(per_day), **more)


def foreseen(gauge: Gauge, inflows: Sequence[Inflow], time: WorkingTime = WEEKDAYS) -> Outlook:
    """The outlook on Friday 6 March 2026."""
    return outlook(
        gauge,
        inflows,
        as_of=time.today,
        nth_working_day=time.nth_working_day,
        working_days_until=time.working_days_until,
    )


def working_days(count: int, last: date = FRIDAY) -> list[date]:
    """The last *count* days from Monday to Friday, up to *last*."""
    days: list[date] = []
    while len(days) < count:
        if last.weekday() < 5:
            days.append(last)
        last -= timedelta(days=1)
    return days[::-1]
