"""Where a value stands on an axis, and which values an axis names."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

DAY_S = 86_400

_MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200)
_DAY_STEPS = (1, 2, 7, 14)


@dataclass(frozen=True, slots=True)
class Linear:
    """Maps [*low*, *high*] onto the points from *start* to *end*."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Where *value* stands."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


@dataclass(frozen=True, slots=True)
class Decades:
    """The same, by the logarithm: equal ratios are equally far apart. *low* is above 0; what is less stands there."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Where *value* stands."""
        part = math.log(max(value, self.low) / self.low) / math.log(self.high / self.low)
        return self.start + part * (self.end - self.start)


@dataclass(frozen=True, slots=True)
class Days:
    """Maps moments onto points."""

    first_at: datetime
    last_at: datetime
    start: float
    end: float

    def __call__(self, at: datetime) -> float:
        """Where *at* stands."""
        span = (self.last_at - self.first_at).total_seconds()
        return self.start + (at - self.first_at).total_seconds() / span * (self.end - self.start)

    def of_day(self, day: date) -> float:
        """Where the beginning of *day* stands."""
        return self(datetime(day.year, day.month, day.day))  # noqa: DTZ001  wall-clock time of the site


def round_steps(high: float, most: int) -> tuple[float, ...]:
    """Round values from 0 to at least *high*, one, two or five times a power of ten apart, *most* steps at most.

    >>> round_steps(870, 4)
    (0, 500, 1000)

    Raises:
        ValueError: *high* is not above 0, or fewer than one step is allowed.
    """
    if not high > 0 or most < 1:
        raise ValueError("an axis wants an end above 0 and a step")
    power = 10 ** math.floor(math.log10(high / most))
    step = next(step for times in (1, 2, 5, 10, 20) if math.ceil(high / (step := times * power)) <= most)
    return tuple(number * step for number in range(math.ceil(high / step) + 1))


def round_ratios(low: float, high: float, most: int) -> tuple[float, ...]:
    """One, two and five times powers of ten within [*low*, *high*]; where those are more than *most*, tens alone.

    >>> round_ratios(18, 1200, 9)
    (20, 50, 100, 200, 500, 1000)

    Raises:
        ValueError: *low* is not above 0 or not below *high*.
    """
    if not 0 < low < high:
        raise ValueError("an axis of ratios wants two ends above 0")
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for times in ((1, 2, 5), (1, 3), (1,)):
        found = tuple(each * 10**power for power in powers for each in times if low <= each * 10**power <= high)
        if len(found) <= most:
            return found
    return found[:: math.ceil(len(found) / most)]


def named_days(first_on: date, last_on: date, most: int) -> tuple[date, ...]:
    """Days to name between two others: firsts of months, Mondays or single days, *most* of them at most.

    Raises:
        ValueError: The last day comes before the first.
    """
    if last_on < first_on:
        raise ValueError("the last day of an axis comes after its first")
    span = (last_on - first_on).days
    for step in _DAY_STEPS:
        if span // step + 1 <= most:
            monday = first_on if step < 7 else first_on + timedelta(days=-first_on.weekday() % 7)
            return tuple(monday + timedelta(days=number) for number in range(0, (last_on - monday).days + 1, step))
    months = [(day.year, day.month) for day in (first_on, last_on)]
    begin, end = (12 * year + month - 1 for year, month in months)
    if first_on.day > 1:
        begin += 1
    for step in _MONTH_STEPS:
        found = range(begin + -begin % step, end + 1, step)
        if len(found) <= most:
            return tuple(date(month // 12, month % 12 + 1, 1) for month in found)
    return (first_on,)


def flags(wanted: Sequence[tuple[float, float]], gap: float, left: float = 0.0) -> list[int]:
    """A row, from 0 upward, for each of some flags on poles, given as (pole, width) from left to right.

    A flag ends at its pole, or begins at *left* where it would reach further; its pole comes down through all rows
    below. No flag comes nearer than *gap* to another in its row, nor to an earlier pole that passes there.

    >>> flags([(100, 40), (120, 40), (200, 40)], 4)
    [0, 1, 0]
    """
    rows: list[int] = []
    taken: list[tuple[float, float]] = []  # where an earlier flag and its pole end
    for pole, width in wanted:
        begin = max(pole - width, left)
        row = 0
        while any(
            (other == row and begin < end + gap) or (other > row and begin < stands + gap)
            for other, (end, stands) in zip(rows, taken, strict=True)
        ):
            row += 1
        rows.append(row)
        taken.append((begin + width, pole))
    return rows
