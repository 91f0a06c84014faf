"""Measurements that must fit together: weighted least squares, the global test, and which one is grossly wrong.

Pure Python: the systems have a handful of rows, and a command that reads must start at once.

Source of the method: S. Narasimhan, C. Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 3, 7.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.errors import NotUnderstood

Vector = tuple[float, ...]
Matrix = tuple[Vector, ...]


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


def reconcile(measured: Sequence[float], covariance: Sequence[Sequence[float]], balances: Matrix) -> Reconciled:
    """Change *measured* as little as its *covariance* allows until every row of *balances* gives 0.

    Raises:
        BadSystem: Shapes that do not fit, values that are not finite, balances that depend on each other.
    """
    raise BadSystem("")


def chi_square_beyond(chi_square: float, degrees_of_freedom: int) -> float:
    """The chance that a chi-square variable is larger than *chi_square*."""
    raise BadSystem("")
