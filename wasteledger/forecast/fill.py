"""When a container will be full: first passage of what goes in, with all that is not known carried along.

One measure (mass, level) of a container stands at

    standing + c'(x + X(t)) + scatter

where x is the exposure that went in unweighed, X(t) what will go in by working day t, and c what one full swap of each
kind brings. c is drawn: log-normal by the matched moments of the prior, correlated as it says, with Student's tails
where weighings taught it. *One draw of c serves what stands in it and what comes*, since both are wrong by the same
factor. Scatter is proportional to the draw, as in the estimate of the standing mass. The rates together are drawn as a
gamma factor. Given these, what goes in has a drift and a variance for each working day, and the time to the limit is
inverse Gaussian; the forecast is the mean of these distributions over the draws.

Variance for a working day: for each kind its rate times (scatter of a swap + exposure's own spread + dispersion of the
counts times the squared mean of a swap). The mark is passed by a jump, so later than a motion without jumps would: by
half of variance over drift, in the unit of the measure (mean overshoot and mean wait of a stationary renewal process;
D. R. Cox, Renewal Theory 1962, 5.2 and 5.4), which is added to the room left.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal

from wasteledger.errors import NotUnderstood
from wasteledger.estimate.containers import UnknownKind
from wasteledger.estimate.prior import Prior
from wasteledger.forecast.draws import gamma_quantile, normal_points
from wasteledger.forecast.passage import chance_passed
from wasteledger.forecast.rates import Rate
from wasteledger.forecast.words import reason_of

Measure = Literal["mass", "level", "pieces"]

HORIZON_DAYS = 3653
"""Calendar days, ten years; a forecast does not look further."""


_FURTHEST = 20.0  # in logarithms; nothing real lies so far out


class BadForecast(NotUnderstood):
    """Values of which no forecast can be made."""

    code = "bad-forecast"


@dataclass(frozen=True, slots=True)
class Inflow:
    """What one kind of swap, or one stream put in by count, brings to a container.

    Attributes:
        kind: A kind of the prior; any other name where *exposure_mean* is 0.
        rate: How often it comes.
        exposure_mean: Mean exposure of one (full swaps of one dentist).
        exposure_sd: Standard deviation of the exposure from one to the next.
        body_mean: What each brings besides debris, in the unit of the measure: bodies of known mass, volumes.
        body_sd: Its standard deviation from one to the next.
        pieces: How many pieces come at once, with the share of each; for the limit of pieces.
    """

    kind: str
    rate: Rate
    exposure_mean: float = 1.0
    exposure_sd: float = 0.0
    body_mean: float = 0.0
    body_sd: float = 0.0
    pieces: tuple[tuple[int, float], ...] = ((1, 1.0),)

    def __post_init__(self) -> None:
        numbers = (self.exposure_mean, self.exposure_sd, self.body_mean, self.body_sd)
        if not all(0 <= number < math.inf for number in numbers):
            raise BadForecast(
                f"What {self.kind} brings must be 0 or more.", hint="Give exposures and bodies of 0 or more."
            )


@dataclass(frozen=True, slots=True)
class Gauge:
    """One measure of a container now, against its limit; all in the unit of the measure (mg, mL).

    Attributes:
        measure: Which.
        limit: What it may reach.
        known: What stands in it that was weighed, read or is exactly known.
        known_sd: Standard uncertainty of that.
        exposures: What went in since, unweighed, for each kind of the prior; empty for nothing.
        prior: What one full swap of each kind brings; None where only bodies count.
        is_learned: Whether weighings of this site taught the prior.
    """

    measure: Measure
    limit: float
    known: float = 0.0
    known_sd: float = 0.0
    exposures: tuple[float, ...] = ()
    prior: Prior | None = None
    is_learned: bool = False


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


@dataclass(frozen=True, slots=True)
class _Draw:
    """One draw: the room left, and drift and variance for each working day."""

    room: float
    drift: float
    variance: float


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
        BadForecast: A limit that is not above 0, or exposures that do not fit the prior.
    """
    if not gauge.limit > 0 or (
        gauge.exposures and len(gauge.exposures) != len(gauge.prior.kinds if gauge.prior else ())
    ):
        raise BadForecast("The limit, or what went in, does not fit.", hint="Give a limit above 0.")
    draws = _draws(gauge, inflows)
    chance = _mixture(draws)
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


def _daily(draws: Sequence[_Draw]) -> tuple[float, float, float] | None:
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


def _mixture(draws: Sequence[_Draw]) -> Callable[[int], float]:
    """The chance that the limit is reached by the end of a working day, over all draws."""
    full = sum(draw.room <= 0 for draw in draws)
    steady = sorted(draw.room / draw.drift for draw in draws if draw.room > 0 and draw.drift > 0 and not draw.variance)
    passages = []
    for draw in draws:
        if draw.room > 0 and draw.drift > 0 and draw.variance > 0:
            room = draw.room + draw.variance / (2 * draw.drift)
            passages.append((room / draw.drift, room**2 / draw.variance))

    @lru_cache(maxsize=256)
    def chance(days: int) -> float:
        arrived = sum(time <= days for time in steady)
        return (full + arrived + math.fsum(chance_passed(days, *passage) for passage in passages)) / len(draws)

    return chance


def _draws(gauge: Gauge, inflows: Sequence[Inflow]) -> list[_Draw]:
    singles = _singles(gauge.prior, inflows)
    stands, comes, together = _debris(gauge, singles)
    scatter_variance = _scatter_variance(gauge)
    rate_shape = _rate_shape(singles)
    draws = []
    for known, scatter, one, other, tails, rates in normal_points(6):
        widening = _widening(gauge.prior, tails)
        stands_ratio = stands.ratio(widening * one)
        comes_ratio = comes.ratio(widening * (together * one + math.sqrt(1 - together**2) * other))
        standing = gauge.known + gauge.known_sd * known
        standing += _scattered(stands.mean * stands_ratio, scatter_variance * stands_ratio**2, scatter)
        drift, variance = _daily_moments(singles, comes_ratio)
        factor = gamma_quantile(rates, rate_shape) / rate_shape if rate_shape else 1.0
        draws.append(_Draw(gauge.limit - standing, drift * factor, variance * factor))
    return draws


@dataclass(frozen=True, slots=True)
class _Single:
    """One arrival of an inflow: its debris at the prior's means, and its body."""

    rate: Rate
    place: int | None  # the kind's row in the prior
    exposure: float
    debris: float
    debris_variance: float
    body: float
    body_variance: float


def _singles(prior: Prior | None, inflows: Sequence[Inflow]) -> list[_Single]:
    row = {kind: place for place, kind in enumerate(prior.kinds)} if prior else {}
    singles = []
    for inflow in inflows:
        place = row.get(inflow.kind) if inflow.exposure_mean else None
        if inflow.exposure_mean and place is None:
            raise UnknownKind("kind", inflow.kind)
        debris = debris_variance = 0.0
        if prior is not None and place is not None:
            mean, scatter_sd = prior.means_mg[place], prior.scatter_sd_mg[place]
            debris = inflow.exposure_mean * mean
            debris_variance = inflow.exposure_mean * scatter_sd**2 + (inflow.exposure_sd * mean) ** 2
        singles.append(
            _Single(
                inflow.rate,
                place,
                inflow.exposure_mean,
                debris,
                debris_variance,
                inflow.body_mean,
                inflow.body_sd**2,
            )
        )
    return singles


@dataclass(frozen=True, slots=True)
class _LogNormal:
    """A sum of debris: its mean, and the deviation of its logarithm that its variance gives it."""

    mean: float
    log_sd: float

    @classmethod
    def of(cls, mean: float, variance: float) -> _LogNormal:
        return cls(mean, math.sqrt(math.log1p(max(0.0, variance) / mean**2)) if mean > 0 else 0.0)

    def ratio(self, deviate: float) -> float:
        """A draw over the mean."""
        return math.exp(max(-_FURTHEST, min(_FURTHEST, self.log_sd * deviate)) - self.log_sd**2 / 2)


def _debris(gauge: Gauge, singles: Sequence[_Single]) -> tuple[_LogNormal, _LogNormal, float]:
    """What stands in it, what comes on a working day, and the correlation of their logarithms."""
    prior = gauge.prior
    if prior is None:
        return _LogNormal(0.0, 0.0), _LogNormal(0.0, 0.0), 0.0
    count = len(prior.kinds)
    x = list(gauge.exposures) or [0.0] * count
    coming = [0.0] * count
    for single in singles:
        if single.place is not None:
            coming[single.place] += single.rate.per_day * single.exposure

    def moment(one: Sequence[float], other: Sequence[float]) -> float:
        return math.fsum(
            a * b * cell
            for a, row in zip(one, prior.covariance_mg2, strict=True)
            if a
            for b, cell in zip(other, row, strict=True)
        )

    stands = _LogNormal.of(_dot(x, prior.means_mg), moment(x, x))
    comes = _LogNormal.of(_dot(coming, prior.means_mg), moment(coming, coming))
    if not stands.log_sd or not comes.log_sd:
        return stands, comes, 0.0
    shared = math.log1p(max(-0.99, moment(x, coming) / (stands.mean * comes.mean)))
    return stands, comes, max(-1.0, min(1.0, shared / (stands.log_sd * comes.log_sd)))


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))


def _scatter_variance(gauge: Gauge) -> float:
    if gauge.prior is None or not gauge.exposures:
        return 0.0
    return math.fsum(x * sd**2 for x, sd in zip(gauge.exposures, gauge.prior.scatter_sd_mg, strict=True))


def _rate_shape(singles: Sequence[_Single]) -> float:
    """Shape of a gamma factor of mean 1 for all rates together; 0 for none."""
    drift = math.fsum(single.rate.per_day * (single.debris + single.body) for single in singles)
    variance = math.fsum((single.rate.sd_per_day * (single.debris + single.body)) ** 2 for single in singles)
    return drift**2 / variance if variance else 0.0


def _daily_moments(singles: Sequence[_Single], ratio: float) -> tuple[float, float]:
    drift = variance = 0.0
    for single in singles:
        one = single.debris * ratio + single.body
        own = single.debris_variance * ratio**2 + single.body_variance
        drift += single.rate.per_day * one
        variance += single.rate.per_day * (own + single.rate.dispersion * one**2)
    return drift, variance


def _widening(prior: Prior | None, deviate: float) -> float:
    """Student's tails: what a normal deviate is multiplied by."""
    if prior is None or math.isinf(prior.degrees_of_freedom):
        return 1.0
    half = prior.degrees_of_freedom / 2
    return math.sqrt(half / gamma_quantile(deviate, half))


def _scattered(mean: float, variance: float, deviate: float) -> float:
    """A log-normal quantity of this mean and variance at *deviate*."""
    if not mean or not variance:
        return mean
    log_variance = math.log1p(variance / mean**2)
    return mean * math.exp(math.sqrt(log_variance) * deviate - log_variance / 2)
