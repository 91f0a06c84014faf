"""From a standard uncertainty to a coverage interval: factors, and intervals that stay above nothing.

Everything is standard library: the estimate is needed by commands that must start at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from statistics import NormalDist

COVERAGE = 0.95

_OUTSIDE = 2.5
# Tenths of a deviation, six either way: there the trapezium rule over a normal density is right to many digits.
_NODES = [(step / 10, math.exp(-((step / 10) ** 2) / 2) / (10 * math.sqrt(2 * math.pi))) for step in range(-60, 61)]

# Above this many degrees of freedom the expansion is right to better than 1e-8, and quicker than the finite sum.
_EXPANSION_FROM = 100


@lru_cache(maxsize=256)
def coverage_factor(degrees_of_freedom: float = math.inf, coverage: float = COVERAGE) -> float:
    """The factor k for which ±k standard uncertainties hold *coverage* (0 to 1) of a Student t-distribution.

    Degrees of freedom that are no whole number are cut to the next lower one, as JCGM 100:2008 G.6.4 allows.

    >>> round(coverage_factor(), 3), round(coverage_factor(5), 2)
    (1.96, 2.57)

    Raises:
        ValueError: Fewer than one degree of freedom, or a coverage that is not between 0 and 1.

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 26.7.3 to 26.7.5.
    """
    if not degrees_of_freedom >= 1:
        raise ValueError("a coverage factor wants at least one degree of freedom")
    if not 0 < coverage < 1:
        raise ValueError("a coverage lies between 0 and 1")
    normal = NormalDist().inv_cdf((1 + coverage) / 2)
    if math.isinf(degrees_of_freedom):
        return normal
    whole = math.floor(degrees_of_freedom)
    if whole > _EXPANSION_FROM:
        return _expanded(normal, whole)
    low, high = 0.0, 1.0
    while _share_within(high, whole) < coverage:
        low, high = high, 2 * high
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if _share_within(middle, whole) < coverage else (low, middle)
    return high


def student_share(value: float, degrees_of_freedom: float = math.inf) -> float:
    """The share of a Student t-distribution that lies below *value*; of the normal one for infinite degrees of freedom.

    Degrees of freedom that are no whole number are cut to the next lower one, as in `coverage_factor`.

    >>> round(student_share(1.96), 3), round(student_share(2.571, 5), 3)
    (0.975, 0.975)

    Raises:
        ValueError: Fewer than one degree of freedom.
    """
    if not degrees_of_freedom >= 1:
        raise ValueError("a Student distribution wants at least one degree of freedom")
    if math.isinf(degrees_of_freedom):
        return math.erfc(-value / math.sqrt(2)) / 2
    within = _share_within(abs(value), math.floor(degrees_of_freedom))
    return (1 + within) / 2 if value > 0 else (1 - within) / 2


def lognormal_limits(mean: float, variances: Sequence[float], factor: float) -> tuple[float, float]:
    """The interval of a quantity of this *mean* that independent causes multiply, *factor* deviations either way.

    Each cause is a log-normal factor of mean 1 whose variance, times the squared mean, is one of *variances*; so is
    their product, whose moments the limits match. The lower limit is never below nothing, which a symmetric interval
    about a wide estimate would be; a coverage interval need not be symmetric (JCGM 101:2008, 5.3.2 and 7.7). A
    quantity of mean 0 is given the interval from 0.

    Raises:
        ValueError: A mean or a variance below 0.
    """
    if mean < 0 or min(variances, default=0.0) < 0:
        raise ValueError("a mass has neither a mean nor a variance below nothing")
    total = math.fsum(variances)
    if total == 0:
        return mean, mean
    if mean == 0:
        return 0.0, factor * math.sqrt(total)
    log_variance = math.fsum(math.log1p(variance / mean**2) for variance in variances)
    middle = math.log(mean) - log_variance / 2
    reach = factor * math.sqrt(log_variance)
    # For a spread of many times the mean, the mean lies above nearly all of the distribution; it is kept inside.
    return min(mean, math.exp(middle - reach)), max(mean, math.exp(middle + reach))


def sum_limits(normal_mean: float, normal_sd: float, low: float, high: float) -> tuple[float, float]:
    """The 95 % interval of a normal quantity plus an independent log-normal one of 95 % limits *low* and *high*.

    The ends are quantiles of the sum's own distribution (a probabilistically symmetric interval, JCGM 101:2008, 3.15),
    found by summing over one of the two and bisecting, to 0.1 of the unit.

    Raises:
        ValueError: Limits below 0 or in the wrong order, or a deviation below 0.
    """
    if not 0 <= low <= high or normal_sd < 0:
        raise ValueError("limits of a mass lie above nothing, the lower first, and no deviation is below nothing")
    factor = coverage_factor()
    if normal_sd == 0 or high == 0:
        return normal_mean + low - factor * normal_sd, normal_mean + high + factor * normal_sd
    if low == 0:
        # No log-normal reaches 0; the distances from the normal part's mean are added as variances are.
        return normal_mean - factor * normal_sd, normal_mean + math.hypot(high, factor * normal_sd)
    middle, log_sd = (math.log(low) + math.log(high)) / 2, math.log(high / low) / (2 * factor)
    below = _share_below(normal_mean, normal_sd, middle, log_sd)
    # Outside these, each part alone is met less than once in 160; both ends lie between them.
    least = normal_mean - _OUTSIDE * normal_sd + math.exp(middle - _OUTSIDE * log_sd)
    most = normal_mean + _OUTSIDE * normal_sd + math.exp(middle + _OUTSIDE * log_sd)
    tail = (1 - COVERAGE) / 2
    return _bisected(below, tail, least, most)[0], _bisected(below, 1 - tail, least, most)[1]


def _share_within(factor: float, degrees_of_freedom: int) -> float:
    angle = math.atan2(factor, math.sqrt(degrees_of_freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = degrees_of_freedom % 2 == 1
    term, total = (cosine, 0.0) if odd else (1.0, 0.0)
    # Odd: cos + 2/3 cos^3 + ...; even: 1 + 1/2 cos^2 + 1*3/(2*4) cos^4 + ...
    for step in range(3 if odd else 2, degrees_of_freedom + 1, 2):
        total += term
        term *= cosine**2 * (step - 1) / step
    return 2 / math.pi * (angle + sine * total) if odd else sine * total


def _expanded(normal: float, degrees_of_freedom: int) -> float:
    z, n = normal, float(degrees_of_freedom)
    return (
        z
        + (z**3 + z) / (4 * n)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * n**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3)
        + (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / (92160 * n**4)
    )


def _share_below(normal_mean: float, normal_sd: float, middle: float, log_sd: float) -> Callable[[float], float]:
    """The distribution function of the sum, summed over the narrower part, in which the other's function is smooth."""
    root_two = math.sqrt(2)

    def normal(value: float) -> float:
        return math.erfc((normal_mean - value) / (normal_sd * root_two)) / 2

    def lognormal(value: float) -> float:
        return math.erfc((middle - math.log(value)) / (log_sd * root_two)) / 2 if value > 0 else 0.0

    spread = math.exp(middle + log_sd) - math.exp(middle - log_sd)
    if 2 * normal_sd <= spread:
        places, function = [normal_mean + normal_sd * node for node, _ in _NODES], lognormal
    else:
        places, function = [math.exp(middle + log_sd * node) for node, _ in _NODES], normal
    weights = [weight for _, weight in _NODES]
    return lambda value: math.fsum(
        weight * function(value - place) for weight, place in zip(weights, places, strict=True)
    )


def _bisected(rising: Callable[[float], float], wanted: float, low: float, high: float) -> tuple[float, float]:
    while high - low > 0.1 and low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return low, high
