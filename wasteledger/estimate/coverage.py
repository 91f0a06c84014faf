"""From a standard uncertainty to a coverage interval: factors, and intervals that stay above nothing.

Everything is standard library: the estimate is needed by commands that must start at once.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

COVERAGE = 0.95

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


def lognormal_limits(mean: float, variance: float, factor: float) -> tuple[float, float]:
    """The interval of a log-normal quantity with this *mean* and *variance*, *factor* deviations either way in the log.

    The lower limit is never below nothing, which a symmetric interval about a wide estimate would be; a coverage
    interval need not be symmetric (JCGM 101:2008, 5.3.2 and 7.7). A quantity of mean 0 is given the interval from 0.

    Raises:
        ValueError: A mean or a variance below 0.
    """
    if mean < 0 or variance < 0:
        raise ValueError("a mass has neither a mean nor a variance below nothing")
    if variance == 0:
        return mean, mean
    if mean == 0:
        return 0.0, factor * math.sqrt(variance)
    log_variance = math.log1p(variance / mean**2)
    middle = math.log(mean) - log_variance / 2
    reach = factor * math.sqrt(log_variance)
    # For a spread of many times the mean, the mean lies above nearly all of the distribution; it is kept inside.
    return min(mean, math.exp(middle - reach)), max(mean, math.exp(middle + reach))


def sum_limits(*parts: tuple[float, float, float]) -> tuple[float, float]:
    """The interval of a sum of independent *parts*, each given as (lower limit, value, upper limit).

    The distances below the values add in quadrature, and so do those above. For normal parts that is exact, for one
    part alone as well; otherwise it is an approximation.

    Source: G. Y. Zou, A. Donner, Statistics in Medicine 27 (2008) 1693 (method of variance estimates recovery; page
    from memory).
    """
    value = math.fsum(middle for _, middle, _ in parts)
    below = math.hypot(*(middle - lower for lower, middle, _ in parts))
    above = math.hypot(*(upper - middle for _, middle, upper in parts))
    return value - below, value + above


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
