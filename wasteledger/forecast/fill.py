"""When a container will be full: first passage of what goes in, with all that is not known carried along.

One measure (mass, level) of a container stands at

    known + c'(x + X(t)) + scatter

where x is the exposure that went in unweighed, X(t) what will go in by working day t, and c what one full swap of each
kind brings. `contents` draws all that is not known of it; given one draw, what goes in has a drift and a variance for
each working day, and the time to the limit is inverse Gaussian (`passage`). The forecast is the mean of these
distributions over the draws, so that the uncertainty of rates and coefficients stands in its width.

The variance of a working day is, for each kind, its rate times the scatter of a swap, the exposure's own spread, and
the dispersion of the counts times the squared mean of a swap. Nothing else is counted twice: the dispersion is that of
counts about the rate, and what is not known of the rate is drawn.

The mark is passed by a jump, so later than by a motion without jumps: by half of variance over drift, in the unit of
the measure (mean overshoot and mean wait of a stationary renewal process; D. R. Cox, Renewal Theory, 1962, chapter 5,
from memory, and held against simulation), which is added to the room left.

Pieces are counted, not estimated; up to `MOST_PIECES` of room their distribution is compound (`compound`), beyond it
the first passage does as well.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache

from wasteledger.forecast.compound import chance_of_reaching
from wasteledger.forecast.contents import Draw, draws_of
from wasteledger.forecast.gauges import BadForecast, Gauge, Inflow, Measure
from wasteledger.forecast.passage import chance_passed
from wasteledger.forecast.words import reason_of

__all__ = ["BadForecast", "Gauge", "Inflow", "Measure", "Outlook", "earliest", "outlook"]

HORIZON_DAYS = 3653
"""Calendar days, ten years; a forecast does not look further."""

MOST_PIECES = 400
"""Room for pieces up to which they are counted one by one."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """When a container will be full.

    Attributes:
        p10_on: The day by which it is full with a chance of 10 %; None when that is more than ten years off.
        p50_on: With a chance of 50 %.
        p90_on: With a chance of 90 %.
        chance_by: The chance, 0 to 1, that it is full by the end of a day; no day beyond ten years adds to it.
        measure: What will be full first.
        reason: What the forecast rests on, in plain words.
        learned: Whether both the swaps and the weighings of this site stand behind it.
    """

    p10_on: date | None
    p50_on: date | None
    p90_on: date | None
    chance_by: Callable[[date], float] = field(compare=False)
    measure: Measure
    reason: str
    learned: bool


def outlook(
    gauge: Gauge,
    inflows: Sequence[Inflow],
    *,
    as_of: date,
    nth_working_day: Callable[[int], date],
    working_days_until: Callable[[date], int],
) -> Outlook:
    """When *gauge* reaches its limit.

    Args:
        gauge: What stands in the container at the end of *as_of*.
        inflows: What comes, one for each kind.
        as_of: The day of the forecast.
        nth_working_day: The n-th working day after *as_of*; *as_of* itself for 0.
        working_days_until: How many working days lie after *as_of*, up to a day.

    Raises:
        UnknownKind: An inflow brings exposure of a kind that the prior has not.
    """
    draws = draws_of(gauge, inflows)
    counted = gauge.measure == "pieces" and gauge.limit - gauge.known <= MOST_PIECES
    chance = _counting(gauge, inflows) if counted else _mixture(draws)
    last_day = working_days_until(as_of + timedelta(days=HORIZON_DAYS))
    p10_on, p50_on, p90_on = (_day_of(chance, share, last_day, nth_working_day) for share in (0.1, 0.5, 0.9))

    def chance_by(day: date) -> float:
        return 0.0 if day < as_of else chance(min(last_day, working_days_until(day)))

    return Outlook(
        p10_on=p10_on,
        p50_on=p50_on,
        p90_on=p90_on,
        chance_by=chance_by,
        measure=gauge.measure,
        reason=reason_of(
            gauge.measure,
            _daily(draws),
            [inflow.rate for inflow in inflows],
            is_learned=gauge.is_learned,
            is_full=chance(0) >= 0.5,
        ),
        learned=gauge.is_learned and all(inflow.rate.swaps_seen for inflow in inflows),
    )


def earliest(outlooks: Sequence[Outlook]) -> Outlook | None:
    """The outlook of a container from those of its measures; None without any.

    All measures fill by the same swaps, so they are taken to run early or late together: the container's chance is the
    greatest of theirs, and each of its days their earliest. The measure and the reason are those of the earliest
    median.
    """
    if not outlooks:
        return None
    first = min(outlooks, key=lambda one: (one.p50_on or date.max, one.p10_on or date.max, one.measure))

    def day(name: str) -> date | None:
        return min((found for one in outlooks if (found := getattr(one, name)) is not None), default=None)

    return replace(
        first,
        p10_on=day("p10_on"),
        p50_on=day("p50_on"),
        p90_on=day("p90_on"),
        chance_by=lambda on: max(one.chance_by(on) for one in outlooks),
    )


def _daily(draws: Sequence[Draw]) -> tuple[float, float, float] | None:
    drifts = sorted(draw.drift for draw in draws)
    if not drifts[-1]:
        return None
    low, middle, high = (drifts[int(len(drifts) * share)] for share in (0.1, 0.5, 0.9))
    return low, middle, high


def _day_of(
    chance: Callable[[int], float], share: float, last_day: int, nth_working_day: Callable[[int], date]
) -> date | None:
    if chance(last_day) < share:
        return None
    return nth_working_day(bisect_left(range(last_day + 1), share, key=chance))


def _mixture(draws: Sequence[Draw]) -> Callable[[int], float]:
    """The chance that the limit is reached by the end of a working day, over all draws."""
    full = sum(draw.room <= 0 for draw in draws)
    steady = sorted(draw.room / draw.drift for draw in draws if draw.room > 0 and draw.drift > 0 and not draw.variance)
    passages = []
    for draw in draws:
        if draw.room > 0 and draw.drift > 0 and draw.variance > 0:
            room = draw.room + draw.jump
            passages.append((room / draw.drift, room**2 / draw.variance))

    @lru_cache(maxsize=256)
    def chance(days: int) -> float:
        arrived = sum(time <= days for time in steady)
        return (full + arrived + math.fsum(chance_passed(days, *passage) for passage in passages)) / len(draws)

    return chance


def _counting(gauge: Gauge, inflows: Sequence[Inflow]) -> Callable[[int], float]:
    """The chance that the limit of pieces is reached by the end of a working day.

    Dispersion makes the variance grow with the days, what is not known of the rates with their square.
    """
    wanted = math.ceil(gauge.limit - gauge.known)
    mean = variance = rate_variance = 0.0
    arrivals: dict[int, float] = {}
    for inflow in inflows:
        rate, pieces = inflow.rate, inflow.pieces_mean
        mean += rate.per_day * pieces
        variance += rate.per_day * (inflow.pieces_variance + rate.dispersion * pieces**2)
        rate_variance += (rate.sd_per_day * pieces) ** 2
        for size, share in inflow.pieces:
            arrivals[size] = arrivals.get(size, 0.0) + rate.per_day * share
    whole = math.fsum(arrivals.values())
    severity = [arrivals.get(size, 0.0) / whole for size in range(max(arrivals, default=0) + 1)] if whole else []

    @lru_cache(maxsize=256)
    def chance(days: int) -> float:
        return chance_of_reaching(wanted, mean * days, variance * days + rate_variance * days**2, severity)

    return chance
