"""How often traps of a kind are swapped: a Gamma–Poisson rate for each working day, old days fading.

The rate starts from the traps' own intervals, with the weight of a few swaps, and is then taught by the swaps seen.
A day that lies one half-life back counts half. Counts are more regular than Poisson where swaps keep a rhythm, and less
regular where whole rounds are done at once; the *dispersion* (variance of the counts over their mean) says how much,
and the swaps seen weigh the more the more regular they are (quasi-likelihood; P. McCullagh, J. A. Nelder, Generalized
Linear Models, 2nd edition 1989, 9.2).

Weights, half-life and starting dispersion are judgement without a source; each is an argument.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from wasteledger.errors import NotUnderstood

HALF_LIFE_DAYS = 126.0
"""Working days after which a day counts half, about half a year: judgement, no source."""

PRIOR_SWAPS = 2.0
"""How many swaps the traps' own intervals are worth: judgement, no source; kept small, so that the start is wide."""

PERIOD_DAYS = 10
"""Working days in one period of counts, a fortnight; longer for kinds that are swapped less often than that, since
counts of nothing and one look uneven even where the rhythm is strict."""

PRIOR_PERIODS = 2.0
"""How many periods the starting dispersion is worth: judgement, no source."""

PRIOR_DISPERSION = 0.5
"""Between a strict rhythm (0) and a Poisson process (1), since traps are swapped by a plan: judgement, no source."""


LEAST_DISPERSION = 0.05
"""No rhythm is taken to be stricter than this: judgement, no source."""


class BadRate(NotUnderstood):
    """Counts or a prior of which no rate can be made."""

    code = "bad-rate"


@dataclass(frozen=True, slots=True)
class Rate:
    """Swaps of one kind for each working day, as a gamma distribution of what it may be.

    Attributes:
        shape: Of the gamma distribution.
        days: Working days behind it, so that the mean is shape/days.
        dispersion: Variance of the counts over their mean; 1 for Poisson, near 0 for a strict rhythm.
        swaps_seen: How many swaps taught it; 0 where the prior alone speaks.
        days_seen: In how many working days.
    """

    shape: float
    days: float
    dispersion: float = 1.0
    swaps_seen: int = 0
    days_seen: int = 0

    def __post_init__(self) -> None:
        if not (0 < self.shape < math.inf and 0 < self.days < math.inf and 0 <= self.dispersion < math.inf):
            raise BadRate(
                f"A rate of {self.shape} swaps in {self.days} working days with dispersion {self.dispersion} "
                "cannot be reckoned with.",
                hint="Swaps and days must be above 0, the dispersion 0 or more.",
            )

    @property
    def per_day(self) -> float:
        """Mean number of swaps for each working day."""
        return self.shape / self.days

    @property
    def sd_per_day(self) -> float:
        """Standard deviation of what the rate may be."""
        return math.sqrt(self.shape) / self.days


def learn_rate(
    swaps: Sequence[tuple[date, float]],
    worked: Sequence[date],
    as_of: date,
    prior_per_day: float,
    *,
    prior_swaps: float = PRIOR_SWAPS,
    half_life_days: float = HALF_LIFE_DAYS,
    period_days: int = PERIOD_DAYS,
    prior_periods: float = PRIOR_PERIODS,
    prior_dispersion: float = PRIOR_DISPERSION,
) -> Rate:
    """What the swaps of one kind teach about its rate.

    Args:
        swaps: Day and exposure of each swap; the exposure plays no part here (see `learn_exposure`).
        worked: The working days observed, those without a swap too. Swaps after *as_of* or before the first of these
            days are left out; one on a day off is counted to the working day before it.
        as_of: The day on which the forecast is made; later days are left out.
        prior_per_day: Swaps for each working day by the traps' own intervals; above 0.
        prior_swaps: How many swaps that is worth.
        half_life_days: Working days after which a day counts half.
        period_days: Working days in one period, for the dispersion.
        prior_periods: How many periods the starting dispersion is worth.
        prior_dispersion: The starting dispersion.

    Raises:
        BadRate: A prior, half-life or period that is not above 0.
    """
    if not (prior_per_day > 0 and prior_swaps > 0 and half_life_days > 0 and period_days >= 1 and prior_periods > 0):
        raise BadRate(
            "A rate cannot start from nothing.",
            hint="The traps' rate, its weight, the half-life and the period must all be above 0.",
        )
    days = sorted({day for day in worked if day <= as_of})
    counts = _counts(swaps, days, as_of)
    # The last day has weight 1, and so on back.
    weights = [0.5 ** (back / half_life_days) for back in range(len(days) - 1, -1, -1)]
    dispersion = _dispersion(counts, weights, period_days, prior_periods, prior_dispersion)
    seen = math.fsum(weight * count for weight, count in zip(weights, counts, strict=True))
    faded_days = math.fsum(weights)
    # The variance of a weighted mean of counts goes with Σw²/(Σw)², so that many faded days are worth more than Σw.
    worth = faded_days / math.fsum(weight**2 for weight in weights) / dispersion if weights else 0.0
    return Rate(
        shape=prior_swaps + seen * worth,
        days=prior_swaps / prior_per_day + faded_days * worth,
        dispersion=dispersion,
        swaps_seen=sum(counts),
        days_seen=len(days),
    )


def learn_exposure(
    swaps: Sequence[tuple[date, float]],
    as_of: date,
    prior_exposure: float,
    *,
    prior_swaps: float = PRIOR_SWAPS,
    half_life_calendar_days: float = HALF_LIFE_DAYS * 7 / 5,
) -> tuple[float, float]:
    """Mean and standard deviation of the exposure of one swap, old swaps fading; at first *prior_exposure* and 0.

    Raises:
        BadRate: An exposure below 0, or a weight or half-life that is not above 0.
    """
    if not (prior_exposure >= 0 and prior_swaps > 0 and half_life_calendar_days > 0):
        raise BadRate("An exposure cannot start from nothing.", hint="Give an exposure of 0 or more and its weight.")
    known = [(0.5 ** ((as_of - day).days / half_life_calendar_days), x) for day, x in swaps if day <= as_of]
    if any(x < 0 for _, x in known):
        raise BadRate("An exposure is below 0.", hint="A swap adds debris or nothing.")
    known.append((prior_swaps, prior_exposure))
    total = math.fsum(weight for weight, _ in known)
    mean = math.fsum(weight * x for weight, x in known) / total
    variance = math.fsum(weight * (x - mean) ** 2 for weight, x in known) / total
    return mean, math.sqrt(variance)


def _counts(swaps: Sequence[tuple[date, float]], days: list[date], as_of: date) -> list[int]:
    counts = [0] * len(days)
    for day, _ in swaps:
        if days and days[0] <= day <= as_of:
            counts[bisect_right(days, day) - 1] += 1
    return counts


def _dispersion(
    counts: list[int], weights: list[float], period_days: int, prior_periods: float, prior_dispersion: float
) -> float:
    """Variance of the counts of whole periods over their mean, recent ones weighing more, drawn towards the prior."""
    if not any(counts):
        return max(LEAST_DISPERSION, prior_dispersion)
    period_days = max(period_days, math.ceil(len(counts) / sum(counts)))
    # Periods are counted back from the last day; an oldest one that is not whole is left out.
    ends = range(len(counts), period_days - 1, -period_days)
    sums = [sum(counts[end - period_days : end]) for end in ends]
    shares = [weights[end - 1] for end in ends]
    total = math.fsum(shares)
    if not any(sums):
        return max(LEAST_DISPERSION, prior_dispersion)
    mean = math.fsum(share * count for share, count in zip(shares, sums, strict=True)) / total
    # Weighted periods are worth as many as equal ones would be; one of them goes into the mean.
    freedom = total**2 / math.fsum(share**2 for share in shares) - 1
    if freedom <= 0:
        return max(LEAST_DISPERSION, prior_dispersion)
    spread = math.fsum(share * (count - mean) ** 2 for share, count in zip(shares, sums, strict=True)) / total
    seen = spread * (freedom + 1) / freedom / mean
    return max(LEAST_DISPERSION, (prior_periods * prior_dispersion + freedom * seen) / (prior_periods + freedom))
