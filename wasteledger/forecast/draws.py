"""Evenly spread draws of what is not known: the same ones each time, so that a forecast repeats to the last digit.

Points follow the additive recurrence that H. Niederreiter describes (Random Number Generation and Quasi-Monte Carlo
Methods, SIAM 1992, chapter 3), with the root of x^(d+1) = x + 1 for d dimensions; any number of dimensions will do.
Their ranks put one point into each of many equal slices of every dimension, and what correlation is left between two
dimensions is taken out (a Latin hypercube with controlled correlations; A. B. Owen, Journal of the American Statistical
Association 89 (1994) 1517-1522).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from operator import mul
from statistics import NormalDist

COUNT = 128

_NORMAL = NormalDist()
_TINY = 1e-300
_LARGE_SHAPE = 50.0


@lru_cache(maxsize=16)
def even_points(dimensions: int, count: int = COUNT) -> tuple[tuple[float, ...], ...]:
    """*count* points between 0 and 1 in so many *dimensions*, none of them on an end."""
    root = 1.5
    for _ in range(60):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = [root ** -(place + 1) for place in range(dimensions)]
    raw = [[(0.5 + step * (place + 1)) % 1 for step in steps] for place in range(count)]
    columns: list[list[float]] = []
    for column in zip(*raw, strict=True):
        free = _ranked(column)
        # Twice, since ranking anew brings a little of it back.
        for _ in range(2):
            for earlier in columns:
                slope = math.fsum(map(mul, free, earlier)) / math.fsum(one * one for one in earlier)
                free = [one - slope * other for one, other in zip(free, earlier, strict=True)]
            free = _ranked(free)
        columns.append(free)
    return tuple(tuple(0.5 + share for share in point) for point in zip(*columns, strict=True))


@lru_cache(maxsize=16)
def normal_points(dimensions: int, count: int = COUNT) -> tuple[tuple[float, ...], ...]:
    """The same points as standard normal deviates."""
    return tuple(tuple(_NORMAL.inv_cdf(share) for share in point) for point in even_points(dimensions, count))


def _ranked(column: Sequence[float]) -> list[float]:
    """The middles of equal slices of -1/2 to 1/2, in the order of *column*."""
    rank = {share: place for place, share in enumerate(sorted(column))}
    return [(rank[share] + 0.5) / len(column) - 0.5 for share in column]


def gamma_quantile(deviate: float, shape: float) -> float:
    """The quantile of a gamma distribution of this *shape* and scale 1 at the chance Φ(*deviate*).

    The cube of a normal deviate is a start (E. B. Wilson, M. M. Hilferty, Proceedings of the National Academy of
    Sciences 17 (1931) 684-688), then Newton's steps in the logarithm until they no longer move. From a shape of 50 on
    the start is right to a part in a thousand within three deviations, and stands.
    """
    start = 1 - 1 / (9 * shape) + deviate / (3 * math.sqrt(shape))
    if shape >= _LARGE_SHAPE:
        return float(shape * start**3)
    chance = _NORMAL.cdf(deviate)
    small = math.exp((math.log(chance) + math.lgamma(shape + 1)) / shape)
    # Near nothing the distribution function is x^shape/Γ(shape+1).
    x = shape * start**3 if start > 0.3 else max(small, _TINY)
    for _ in range(30):
        density = math.exp(shape * math.log(x) - x - math.lgamma(shape))  # in log x
        if density < _TINY:
            break
        step = (chance - gamma_share(shape, x)) / density
        x *= math.exp(max(-1.0, min(1.0, step)))
        if abs(step) < 1e-9:
            break
    return x


def gamma_share(shape: float, x: float) -> float:
    """The gamma distribution function of this *shape* at *x* (regularised incomplete gamma function P).

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 6.5.29 and 6.5.31.
    """
    if x <= 0:
        return 0.0
    front = math.exp(shape * math.log(x) - x - math.lgamma(shape))
    if x < shape + 1:
        term = total = 1 / shape
        place = shape
        while term > total * 1e-16:
            place += 1
            term *= x / place
            total += term
        return min(1.0, front * total)
    # Lentz's way through the continued fraction.
    b = x + 1 - shape
    c, d = 1 / _TINY, 1 / b
    h = d
    for step in range(1, 10_000):
        a = -step * (step - shape)
        b += 2
        d = 1 / (a * d + b)
        c = b + a / c
        h *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return max(0.0, 1 - front * h)
