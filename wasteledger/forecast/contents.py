"""One draw after another of all that is not known of a container: the room left, and what comes in a working day.

*One draw of what a full swap brings serves what stands in it and what comes*, since both are wrong by the same factor.
Debris that stands (x'c) and debris of a day (r'c) are drawn as a correlated pair of log-normal sums whose means,
variances and covariance are those that the prior gives these sums. Drawn kind by kind, the strong negative correlations
that weighings teach (the sum is known, its parts are not) would be lost, and the interval far too wide. Where weighings
taught the prior, both have Student's tails in the logarithm.

Scatter is in proportion to the draw, as in the estimate of the standing mass. What stands scatters as a log-normal
factor; what comes has a variance for each working day. Debris is log-normal from swap to swap, so the sum of a few
heavy swaps (a pump trap among many small ones) is mostly near its middle and rarely far out: 80 % of it lie closer
together than its variance alone would say. Both scatters are therefore drawn as mixtures of normals over a variance
factor that gives them the fourth moment of such a sum. The rates together are a gamma factor of mean 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.estimate.containers import UnknownKind
from wasteledger.estimate.prior import Prior
from wasteledger.forecast.draws import gamma_quantile, normal_points
from wasteledger.forecast.gauges import Gauge, Inflow
from wasteledger.forecast.rates import Rate

# Variance of a variance factor; one heavy swap alone would ask for more than a mixture of normals can give.
_MOST_UNEVEN = 3.0

_FURTHEST = 20.0  # in logarithms; nothing real lies so far out


@dataclass(frozen=True, slots=True)
class Draw:
    """One draw, in the unit of the measure.

    Attributes:
        room: What is left to the limit; 0 or less where that is reached.
        drift: Mean of what comes in a working day.
        variance: Its variance, for each working day.
        jump: What a passage by jumps must go further than a steady one, on average.
    """

    room: float
    drift: float
    variance: float
    jump: float


def draws_of(gauge: Gauge, inflows: Sequence[Inflow]) -> list[Draw]:
    """Equally likely draws, always the same ones.

    Raises:
        UnknownKind: An inflow brings exposure of a kind that the prior has not.
    """
    singles = _singles(gauge, inflows)
    stands, comes, together = _debris(gauge, singles)
    scatter_variance = _scatter_variance(gauge)
    rate_shape = _rate_shape(singles)
    stood, to_come = _unevenness(gauge, singles, stands.mean)
    draws = []
    for known, scatter, one, other, tails, rates, uneven, uneven_later in normal_points(8):
        widening = _widening(gauge.prior, tails)
        stands_ratio = stands.ratio(widening * one)
        comes_ratio = comes.ratio(widening * (together * one + math.sqrt(1 - together**2) * other))
        standing = gauge.known + gauge.known_sd * known
        stood_variance = scatter_variance * stands_ratio**2 * stood.ratio(uneven)
        standing += _scattered(stands.mean * stands_ratio, stood_variance, scatter)
        drift, own, counted = _daily_moments(singles, comes_ratio)
        variance = own * to_come.ratio(uneven_later) + counted
        jump = (own + counted) / (2 * drift) if drift else 0.0
        factor = gamma_quantile(rates, rate_shape) / rate_shape if rate_shape else 1.0
        draws.append(Draw(gauge.limit - standing, drift * factor, variance * factor, jump))
    return draws


@dataclass(frozen=True, slots=True)
class _Single:
    """One arrival of an inflow: its debris at the prior's means, and its body."""

    rate: Rate
    place: int | None  # the kind's row in the prior, where it brings debris
    exposure: float
    debris: float
    debris_variance: float
    body: float
    body_variance: float


def _singles(gauge: Gauge, inflows: Sequence[Inflow]) -> list[_Single]:
    prior = gauge.prior
    row = {kind: place for place, kind in enumerate(prior.kinds)} if prior else {}
    singles = []
    for inflow in inflows:
        body_mean, body_variance = inflow.body_mean, inflow.body_sd**2
        if gauge.measure == "pieces":
            body_mean, body_variance = inflow.pieces_mean, inflow.pieces_variance
        place = row.get(inflow.kind)
        debris = debris_variance = 0.0
        if inflow.exposure_mean and gauge.measure != "pieces":
            if prior is None or place is None:
                raise UnknownKind("kind", inflow.kind)
            mean, scatter_sd = _means(prior)[place], prior.scatter_sd_mg[place]
            debris = inflow.exposure_mean * mean
            debris_variance = inflow.exposure_mean * scatter_sd**2 + (inflow.exposure_sd * mean) ** 2
        exposure = inflow.exposure_mean if debris else 0.0
        singles.append(_Single(inflow.rate, place, exposure, debris, debris_variance, body_mean, body_variance))
    return singles


def _means(prior: Prior) -> list[float]:
    """The prior's means; where weighings held one at nothing, its standard uncertainty stands in for it."""
    return [
        mean or math.sqrt(row[place])
        for place, (mean, row) in enumerate(zip(prior.means_mg, prior.covariance_mg2, strict=True))
    ]


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

    stands = _LogNormal.of(_dot(x, _means(prior)), moment(x, x))
    comes = _LogNormal.of(_dot(coming, _means(prior)), moment(coming, coming))
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


def _unevenness(gauge: Gauge, singles: Sequence[_Single], stands_mean: float) -> tuple[_LogNormal, _LogNormal]:
    """Factors of mean 1 on the scatter of what stands and of what comes, that give both the tails of log-normal debris.

    A mixture of normals over a variance factor W has the excess kurtosis 3 Var(W); a sum of swaps has that of one swap
    times Σ vₖ² / (Σ vₖ)² over the variances of all of them.
    """
    prior = gauge.prior
    if prior is None:
        return _LogNormal(1.0, 0.0), _LogNormal(1.0, 0.0)
    coming = math.fsum(single.rate.per_day * (single.debris + single.body) for single in singles)
    days = max(0.0, gauge.limit - gauge.known - stands_mean) / coming if coming else 0.0
    counts = [0.0] * len(prior.kinds)
    for single in singles:
        if single.place is not None and single.exposure:
            counts[single.place] += single.rate.per_day * single.exposure * days
    return _factor(prior, gauge.exposures, pooled=True), _factor(prior, counts, pooled=False)


def _factor(prior: Prior, counts: Sequence[float], *, pooled: bool) -> _LogNormal:
    """The factor on the scatter of these *counts*; *pooled* where their sum is drawn as a log-normal one already."""
    total = variance = fourth = 0.0
    for count, mean, scatter_sd in zip(counts, _means(prior), prior.scatter_sd_mg, strict=bool(counts)):
        if count and mean:
            total += count * mean
            variance += count * scatter_sd**2
            fourth += count * scatter_sd**4 * excess_kurtosis((scatter_sd / mean) ** 2)
    if not variance:
        return _LogNormal(1.0, 0.0)
    left = fourth / variance**2 - (excess_kurtosis(variance / total**2) if pooled else 0.0)
    return _LogNormal.of(1.0, min(_MOST_UNEVEN, max(0.0, left) / 3))


def excess_kurtosis(squared_variation: float) -> float:
    """Of a log-normal quantity (a textbook formula; from memory, and held against SciPy)."""
    omega = 1 + squared_variation
    return omega**4 + 2 * omega**3 + 3 * omega**2 - 6


def _daily_moments(singles: Sequence[_Single], ratio: float) -> tuple[float, float, float]:
    """Mean of what comes in a working day, its variance by what single ones bring, and by how many come."""
    drift = own = counted = 0.0
    for single in singles:
        one = single.debris * ratio + single.body
        drift += single.rate.per_day * one
        own += single.rate.per_day * (single.debris_variance * ratio**2 + single.body_variance)
        counted += single.rate.per_day * single.rate.dispersion * one**2
    return drift, own, counted


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
