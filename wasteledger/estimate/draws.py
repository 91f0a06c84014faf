"""Stratified draws of the quantities that an estimate rests on, for results that no formula gives; standard library.

Each quantity takes every one of *count* equally likely strata once, at its middle, in an order that the handed-in
generator shuffles (a centred Latin hypercube; M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979) 239).
A few thousand draws then give the ends of an interval as well as many times as many free ones would. The propagation of
distributions by such draws is that of JCGM 101:2008, clause 7.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from random import Random
from statistics import NormalDist

# Steps of the table that a density is summed over, and its reach either way in standard deviations.
_STEPS, _REACH = 6000, 30.0

# The least that one plus a relative covariance may be: none of two positive quantities is at or below -1 for long.
_LEAST_RATIO = 0.05


def normal_draws(count: int, random: Random) -> list[float]:
    """*count* draws of a standard normal quantity."""
    return _shuffled(_normal_strata(count), random)


def share_draws(mean: float, sd: float, count: int, random: Random) -> list[float]:
    """*count* draws of a share between 0 and 1: a beta distribution of this *mean* and standard deviation.

    A share without deviation, or of mean 0 or 1, is always its mean.

    Raises:
        ValueError: No beta distribution between 0 and 1 is so wide.
    """
    if sd == 0 or mean in (0.0, 1.0):
        return [mean] * count
    return _shuffled(_share_strata(mean, sd, count), random)


def student_scales(degrees_of_freedom: float, count: int, random: Random) -> list[float]:
    """*count* draws of what turns standard normal draws into Student ones: √(ν/χ²), always 1 for infinite ν."""
    if math.isinf(degrees_of_freedom):
        return [1.0] * count
    return _shuffled(_scale_strata(degrees_of_freedom, count), random)


def positive_draws(
    means: Sequence[float],
    covariance: Sequence[Sequence[float]],
    scales: Sequence[float],
    random: Random,
) -> list[list[float]]:
    """Joint draws of quantities that are never below nothing: one list for each of *means*, as long as *scales*.

    They are jointly log-normal and have these means and this *covariance* where *scales* are all 1; `student_scales`
    gives them the tails of fewer degrees of freedom, in the logarithm. A quantity of mean 0 is the positive part of a
    normal one.
    """
    free = [normal_draws(len(scales), random) for _ in means]
    root = _root(_log_covariance(means, covariance))
    drawn = []
    for place, mean in enumerate(means):
        if mean == 0:
            sd = math.sqrt(covariance[place][place])
            drawn.append([max(0.0, sd * scale * z) for scale, z in zip(scales, free[place], strict=True)])
            continue
        middle = math.log(mean) - math.log1p(covariance[place][place] / mean**2) / 2
        weights = [(weight, free[column]) for column, weight in enumerate(root[place]) if weight]
        drawn.append(
            [
                math.exp(middle + scale * math.fsum(weight * column[draw] for weight, column in weights))
                for draw, scale in enumerate(scales)
            ]
        )
    return drawn


def _shuffled(strata: tuple[float, ...], random: Random) -> list[float]:
    mixed = list(strata)
    random.shuffle(mixed)
    return mixed


@lru_cache(maxsize=4)
def _normal_strata(count: int) -> tuple[float, ...]:
    normal = NormalDist()
    return tuple(normal.inv_cdf((place + 0.5) / count) for place in range(count))


@lru_cache(maxsize=64)
def _share_strata(mean: float, sd: float, count: int) -> tuple[float, ...]:
    size = mean * (1 - mean) / sd**2 - 1
    if size <= 0:
        raise ValueError(f"no share of mean {mean} has a standard deviation of {sd}")
    a, b = mean * size, (1 - mean) * size

    # In the logit y the density of a beta is p^a (1 - p)^b, and both of its tails fall off exponentially.
    def log_density(y: float) -> float:
        return -a * _softplus(-y) - b * _softplus(y)

    spread = math.sqrt(1 / a + 1 / a**2 + 1 / b + 1 / b**2)
    logits = _strata(log_density, math.log(mean / (1 - mean)), spread, count)
    return tuple(math.exp(-_softplus(-y)) for y in logits)


@lru_cache(maxsize=16)
def _scale_strata(degrees_of_freedom: float, count: int) -> tuple[float, ...]:
    half = degrees_of_freedom / 2

    def log_density(y: float) -> float:  # of y = log χ²
        return half * y - math.exp(y) / 2

    logs = _strata(log_density, math.log(degrees_of_freedom), math.sqrt(1 / half + 1 / half**2), count)
    return tuple(math.sqrt(degrees_of_freedom / math.exp(y)) for y in logs)


def _strata(log_density: Callable[[float], float], centre: float, spread: float, count: int) -> tuple[float, ...]:
    """The middles of *count* equally likely strata of a density on the whole line, by the trapezium rule."""
    step = 2 * _REACH * spread / _STEPS
    places = [centre - _REACH * spread + step * number for number in range(_STEPS + 1)]
    logs = [log_density(place) for place in places]
    highest = max(logs)
    heights = [math.exp(value - highest) for value in logs]
    total = math.fsum(heights)
    found, below, place = [], 0.0, 0
    for stratum in range(count):
        wanted = (stratum + 0.5) / count * total
        while below + (heights[place] + heights[place + 1]) / 2 < wanted and place + 2 < len(places):
            below += (heights[place] + heights[place + 1]) / 2
            place += 1
        within = (heights[place] + heights[place + 1]) / 2
        found.append(places[place] + step * min(1.0, max(0.0, (wanted - below) / within)) if within else places[place])
    return tuple(found)


def _softplus(y: float) -> float:
    return max(y, 0.0) + math.log1p(math.exp(-abs(y)))


def _log_covariance(means: Sequence[float], covariance: Sequence[Sequence[float]]) -> list[list[float]]:
    return [
        [
            math.log(max(_LEAST_RATIO, 1 + cell / (one * other))) if one and other else 0.0
            for other, cell in zip(means, row, strict=True)
        ]
        for one, row in zip(means, covariance, strict=True)
    ]


def _root(matrix: list[list[float]]) -> list[list[float]]:
    """A lower triangle whose product with its transpose is *matrix*.

    Logarithms of strongly opposed quantities need not have a covariance that any quantities have; then all of what is
    between two of them is drawn towards nothing, a twentieth at a time, until they have.
    """
    for twentieths in range(20, -1, -1):
        drawn_in = [
            [cell if i == j else cell * twentieths / 20 for j, cell in enumerate(row)] for i, row in enumerate(matrix)
        ]
        if (root := _cholesky(drawn_in)) is not None:
            return root
    raise ValueError("a variance is below nothing")


def _cholesky(matrix: list[list[float]]) -> list[list[float]] | None:
    root = [[0.0] * len(matrix) for _ in matrix]
    for i, row in enumerate(matrix):
        for j in range(i + 1):
            rest = row[j] - math.fsum(root[i][k] * root[j][k] for k in range(j))
            if i == j:
                if rest < -1e-9 * abs(row[i]):
                    return None
                root[i][i] = math.sqrt(max(0.0, rest))
            elif root[j][j]:
                root[i][j] = rest / root[j][j]
            elif abs(rest) > 1e-9 * math.sqrt(abs(row[i] * matrix[j][j])):
                return None
    return root
