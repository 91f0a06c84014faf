"""When a separator's retaining unit will be full, from the levels read since its exchange.

A unit was empty when it was exchanged, and what it holds never falls. So it is full by a day exactly when its level on
that day has reached the mark, and no first passage comes into it. The level on the n-th working day since the exchange
is taken as

    d n + W(n)        and a level read as the same, give or take the reading

where d is a steady rise that nothing is known of beforehand, and W gathers how unevenly the days bring sediment:
independent from day to day, normal, its variance in proportion to the days. Given that variance, d and W have a closed
form (generalised least squares through the origin, computed reading by reading; A. C. Harvey, Forecasting, Structural
Time Series Models and the Kalman Filter, 1989, section 3.4). What is not known of d stays in the forecast's width.

The maker's schedule plays no part here: it is a day of its own, and the earlier of the two counts.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

from wasteledger.errors import NotUnderstood
from wasteledger.estimate.volume_increments import LEVEL_READ_SD_PERMILLE

FULL_PERMILLE = 1000
"""The mark: the highest level at which the maker still states the unit's removal."""

HORIZON_DAYS = 2600
"""Working days, about ten years; a forecast does not look further."""

UNEVEN_CV = 0.5
"""How unevenly fortnights bring sediment, as a share of what one brings, before readings tell: judgement, no source."""

UNEVEN_DAYS = 10
"""Working days in a fortnight."""

PRIOR_STEPS = 2.0
"""How many steps between readings that unevenness is worth: judgement, no source, as for the rhythm of swaps."""

_NORMAL = NormalDist()


class BadLevels(NotUnderstood):
    """Levels of which no forecast can be made."""

    code = "bad-levels"


@dataclass(frozen=True, slots=True)
class LevelRead:
    """A level of the retaining unit, in thousandths of its mark, read on *day* working days after the exchange."""

    day: int
    level_permille: int


@dataclass(frozen=True, slots=True)
class UnitForecast:
    """What the level will be, by working days since the exchange.

    Attributes:
        per_day: The rise of the level in thousandths for each working day.
        per_day_sd: What is not known of it.
        last_day: The working day of the last level read; no forecast lies before it.
        level: The level on that day as the readings together say it, in thousandths.
        uneven: Variance of the level for each working day, in thousandths squared.
        readings: How many levels it rests on.
        spread: Variance of W on that day, in thousandths squared.
        reach: Working days by which an unknown rise moves the level on that day.
    """

    per_day: float
    per_day_sd: float
    last_day: int
    level: float
    uneven: float
    readings: int
    spread: float
    reach: float

    def chance_by(self, day: int) -> float:
        """Chance that the unit is full by the end of the *day*-th working day; 0 before the last level was read."""
        if day < self.last_day:
            return 0.0
        ahead = day - self.last_day
        # The rise is steep or gentle for all days since the exchange, those before the last reading too.
        unknown = self.spread + self.uneven * ahead + (self.per_day_sd * (self.reach + ahead)) ** 2
        return _NORMAL.cdf((self.level + self.per_day * ahead - FULL_PERMILLE) / math.sqrt(unknown))

    def day_of(self, chance: float) -> int | None:
        """The first working day by which it is full with that *chance*; None where that is more than ten years off."""
        last = self.last_day + HORIZON_DAYS
        # Whole days only, and a hair's breadth for the last digit of a sum.
        found = bisect_left(range(self.last_day, last + 1), chance - 1e-9, key=self.chance_by)
        return None if found > HORIZON_DAYS else self.last_day + found


def unit_forecast(
    levels: Sequence[LevelRead], *, reading_sd_permille: float = LEVEL_READ_SD_PERMILLE
) -> UnitForecast | None:
    """What the *levels* read since the exchange say of the days to come; None where they do not say that it fills.

    One level is enough: the unit was empty at the exchange. Nothing is said where no level was read later than on the
    day of the exchange, where the levels do not rise, or where the mark was read already (then it is a fact).

    Args:
        levels: In the order of their days.
        reading_sd_permille: Standard uncertainty of a reading.

    Raises:
        BadLevels: A day before the exchange or before the reading before it, a level below 0, or no uncertainty.
    """
    _check(levels, reading_sd_permille)
    if not levels or levels[-1].day == 0 or levels[-1].level_permille >= FULL_PERMILLE:
        return None
    variance = reading_sd_permille**2
    rise = levels[-1].level_permille / levels[-1].day
    if rise <= 0:
        return None
    uneven = _unevenness(levels, rise, variance)
    found = _filtered(levels, uneven, variance)
    return found if found.per_day > 0 else None


def days_of(
    forecast: UnitForecast, nth_working_day: Callable[[int], date], chances: Sequence[float]
) -> tuple[date | None, ...]:
    """The dates by which the unit is full with each of *chances*; *nth_working_day* counts from the exchange."""
    numbers = (forecast.day_of(chance) for chance in chances)
    return tuple(None if number is None else nth_working_day(number) for number in numbers)


def _check(levels: Sequence[LevelRead], reading_sd_permille: float) -> None:
    before = 0
    for one in levels:
        if one.day < before or one.level_permille < 0:
            raise BadLevels(
                f"A level of {one.level_permille} thousandths on working day {one.day} cannot be reckoned with.",
                hint="Give levels of 0 or more, in the order of their days since the exchange.",
            )
        before = one.day
    if not 0 < reading_sd_permille < math.inf:
        raise BadLevels("A level is never read without uncertainty.", hint="Give a standard uncertainty above 0.")


def _unevenness(levels: Sequence[LevelRead], rise: float, reading_variance: float) -> float:
    """Variance of the level for each working day: the starting judgement, drawn to what the steps between show."""
    start = (UNEVEN_CV * rise) ** 2 * UNEVEN_DAYS
    ends = [LevelRead(0, 0), *levels]
    steps = [(one, other) for one, other in zip(ends, levels, strict=False) if other.day > one.day]
    if len(steps) < 2:
        return start
    # A step carries the errors of the readings at its ends; the empty unit was not read. What is left is the days'.
    left = math.fsum(
        (other.level_permille - one.level_permille - rise * (other.day - one.day)) ** 2
        - reading_variance * (2 if one.day else 1)
        for one, other in steps
    )
    # One of the steps goes into the rise.
    free = len(steps) - 1
    seen = max(0.0, left / math.fsum(other.day - one.day for one, other in steps) * len(steps) / free)
    return (PRIOR_STEPS * start + free * seen) / (PRIOR_STEPS + free)


def _filtered(levels: Sequence[LevelRead], uneven: float, reading_variance: float) -> UnitForecast:
    """The rise by generalised least squares, and the level on the last day.

    The filter is run on the levels and on the days with one set of gains, so that the rise drops out of both as a
    plain weighted ratio.
    """
    day, spread = 0, 0.0
    level = days = 0.0  # what the readings so far say of W, had the rise been 0; and the same of the days
    crossed = squared = 0.0
    for one in levels:
        spread += uneven * (one.day - day)
        day = one.day
        miss, miss_days = one.level_permille - level, one.day - days
        total = spread + reading_variance
        crossed += miss * miss_days / total
        squared += miss_days**2 / total
        gain = spread / total
        level, days, spread = level + gain * miss, days + gain * miss_days, spread * (1 - gain)
    per_day = crossed / squared
    reach = day - days
    return UnitForecast(
        per_day=per_day,
        per_day_sd=math.sqrt(1 / squared),
        last_day=day,
        level=level + per_day * reach,
        uneven=uneven,
        readings=len(levels),
        spread=spread,
        reach=reach,
    )
