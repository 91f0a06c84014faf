"""Measurements that must fit together: weighted least squares, the global test, and which one is grossly wrong.

Pure Python: the systems have a handful of rows, and a command that reads must start at once.

Source of the method: S. Narasimhan, C. Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 3, 7.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.errors import NotUnderstood

Vector = tuple[float, ...]
Matrix = tuple[Vector, ...]

_TERMS = 10_000
_TINY = 1e-300


class BadSystem(NotUnderstood):
    """A system of measurements and balances that cannot be solved: shapes, or a variance that is none."""

    code = "bad-system"


@dataclass(frozen=True, slots=True)
class Reconciled:
    """Measurements made to fit their balances.

    Attributes:
        values: x = y - V A'(A V A')⁻¹ A y.
        covariance: Of these, V - V A'(A V A')⁻¹ A V.
        residuals: A y, what each balance lacked.
        chi_square: Of the residuals, r'(A V A')⁻¹ r.
        degrees_of_freedom: Balances.
        p: Chance of a larger chi-square if all variances are right.
        suspicion: For each measurement, how much chi-square falls if that one alone is taken as grossly wrong
            (generalised likelihood ratio); 0 where no balance sees it.
    """

    values: Vector
    covariance: Matrix
    residuals: Vector
    chi_square: float
    degrees_of_freedom: int
    p: float
    suspicion: Vector


# By so much at most: a correlation is never beyond 1, so a matrix of n quantities is one when it is n times as wide.
_WIDENINGS = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


def reconcile(
    measured: Sequence[float], covariance: Sequence[Sequence[float]], balances: Sequence[Sequence[float]]
) -> Reconciled:
    """Change *measured* as little as its *covariance* allows until every row of *balances* gives 0.

    Raises:
        BadSystem: Shapes that do not fit, values that are not finite, balances that depend on each other.
    """
    root, residuals = _residuals(measured, covariance, balances)
    weighted = _solve(root, residuals)
    # V A', one row a measurement.
    spread = [[_dot(row, balance) for balance in balances] for row in covariance]
    values = tuple(value - _dot(row, weighted) for value, row in zip(measured, spread, strict=True))
    solved = [_solve(root, row) for row in spread]
    left = tuple(
        tuple(cell - _dot(row, column) for cell, column in zip(line, solved, strict=True))
        for line, row in zip(covariance, spread, strict=True)
    )
    chi_square = max(0.0, _dot(residuals, weighted))
    units = ([float(i == j) for j in range(len(measured))] for i in range(len(measured)))
    return Reconciled(
        values,
        left,
        tuple(residuals),
        chi_square,
        len(balances),
        chi_square_beyond(chi_square, len(balances)),
        tuple(_fall(root, weighted, balances, unit)[0] for unit in units),
    )


def fall_along(
    measured: Sequence[float],
    covariance: Sequence[Sequence[float]],
    balances: Sequence[Sequence[float]],
    direction: Sequence[float],
) -> tuple[float, float]:
    """How much chi-square falls if *measured* may be wrong by a multiple of *direction*, and that multiple.

    The generalised likelihood ratio of one gross error that shows in several measurements at once: a stage that lets
    everything through lacks its own catch and sends more to those behind it.

    Raises:
        BadSystem: As `reconcile`.
    """
    root, residuals = _residuals(measured, covariance, balances)
    return _fall(root, _solve(root, residuals), balances, direction)


def made_sound(covariance: Sequence[Sequence[float]]) -> Matrix:
    """*covariance* itself where it is one; else with all variances widened alike until it is.

    Moments that were matched one pair at a time need not fit together: three pairs may each be as correlated as they
    like, and no three quantities be correlated so. Widening errs on the side of not finding a fault.

    Raises:
        BadSystem: A variance below 0.
    """
    # What never varies cannot be correlated with anything, and has no root to divide by.
    varying = [place for place, row in enumerate(covariance) if row[place] != 0]
    for widening in _WIDENINGS:
        matrix = tuple(
            tuple(cell * (1 + widening) if i == j else cell for j, cell in enumerate(row))
            for i, row in enumerate(covariance)
        )
        try:
            _cholesky([[matrix[i][j] for j in varying] for i in varying])
        except BadSystem:
            continue
        return matrix
    raise BadSystem("A variance is below 0.", hint="Look at the figures that the covariance is made of.")


def chi_square_beyond(chi_square: float, degrees_of_freedom: int) -> float:
    """The chance that a chi-square variable is larger than *chi_square*.

    >>> round(chi_square_beyond(9.4877, 4), 5)
    0.05

    Raises:
        BadSystem: No degree of freedom, or a chi-square below 0.

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 26.4.19, 6.5.29 and 6.5.31.
    """
    if degrees_of_freedom < 1 or not chi_square >= 0:
        raise BadSystem(
            f"Chi-square {chi_square} with {degrees_of_freedom} degrees of freedom cannot be.",
            hint="Both are more than 0.",
        )
    shape, x = degrees_of_freedom / 2, chi_square / 2
    if x == 0:
        return 1.0
    if math.isinf(x):
        return 0.0
    front = math.exp(shape * math.log(x) - x - math.lgamma(shape))
    return 1 - front * _series(shape, x) if x < shape + 1 else front * _fraction(shape, x)


def _series(shape: float, x: float) -> float:
    term = total = 1 / shape
    for n in range(1, _TERMS):
        term *= x / (shape + n)
        total += term
        if term < total * 1e-17:
            break
    return total


def _fraction(shape: float, x: float) -> float:
    # Evaluated from the front by Lentz's method, which needs no length set beforehand.
    b = x + 1 - shape
    c, d = 1 / _TINY, 1 / b
    value = d
    for n in range(1, _TERMS):
        a = n * (shape - n)
        b += 2
        d = 1 / (a * d + b or _TINY)
        c = b + a / c or _TINY
        value *= c * d
        if abs(c * d - 1) < 1e-16:
            break
    return value


def _residuals(
    measured: Sequence[float], covariance: Sequence[Sequence[float]], balances: Sequence[Sequence[float]]
) -> tuple[Matrix, list[float]]:
    count = len(measured)
    if len(covariance) != count or not balances or any(len(row) != count for row in (*covariance, *balances)):
        raise BadSystem(
            f"{count} measurements want a square covariance and balances of their length.",
            hint="Give one row and column for each measurement.",
        )
    if not all(math.isfinite(cell) for row in (measured, *covariance, *balances) for cell in row):
        raise BadSystem("A measurement, variance or balance is not finite.", hint="Leave it out.")
    spread = [[_dot(row, balance) for row in covariance] for balance in balances]
    inner = [[_dot(row, balance) for balance in balances] for row in spread]
    return _cholesky(inner), [_dot(balance, measured) for balance in balances]


def _fall(
    root: Matrix, weighted: Sequence[float], balances: Sequence[Sequence[float]], direction: Sequence[float]
) -> tuple[float, float]:
    seen = [_dot(balance, direction) for balance in balances]
    length = _dot(seen, _solve(root, seen))
    along = _dot(seen, weighted)
    return (along**2 / length, along / length) if length else (0.0, 0.0)


def _cholesky(matrix: Sequence[Sequence[float]]) -> Matrix:
    root: list[list[float]] = []
    for i, row in enumerate(matrix):
        line: list[float] = []
        for j in range(i):
            line.append((row[j] - _dot(line, root[j][:j])) / root[j][j])
        square = row[i] - _dot(line, line)
        if not square > 1e-13 * abs(row[i]):
            raise BadSystem(
                "The balances depend on each other, or nothing in one of them may change.",
                hint="Leave out balances that follow from others.",
            )
        root.append([*line, math.sqrt(square)])
    return tuple(tuple(line) for line in root)


def _solve(root: Matrix, right: Sequence[float]) -> list[float]:
    count = len(root)
    forward: list[float] = []
    for i in range(count):
        forward.append((right[i] - _dot(root[i][:i], forward)) / root[i][i])
    back = [0.0] * count
    for i in reversed(range(count)):
        later = math.fsum(root[j][i] * back[j] for j in range(i + 1, count))
        back[i] = (forward[i] - later) / root[i][i]
    return back


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))
