"""Learns the coefficients of a linear model from weighings, starting from what is believed of them, or from nothing.

    yᵢ = xᵢ'c + eᵢ,   eᵢ ~ N(0, s² vᵢ);   c given s² ~ N(m₀, s² V₀);   s² ~ inverse gamma (a₀, b₀)

The prior is conjugate, so the posterior has the same form, in closed form, and a prediction is Student's t (Gelman and
others, Bayesian Data Analysis, 3rd edition, 2013, 14.8; Bishop, Pattern Recognition and Machine Learning, 2006, 3.3).
Without a prior the answer is that of generalised least squares.

Nothing here forms X'X, which squares the condition of the system: the prior enters as further rows (the inverse of the
Cholesky factor of V₀), columns are scaled by powers of two, which rounds nothing, and the stacked rows go through a QR
factorisation with one step of iterative refinement (Björck, Numerical Methods for Least Squares Problems, 1996, 2.4.2
and 2.9).

numpy is loaded when something is learned, never by importing this module or by using what was learned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from wasteledger.errors import NotUnderstood

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class ShapesDiffer(NotUnderstood):
    """Rows, observations, variances or beliefs of different lengths."""

    code = "shapes-differ"

    def __init__(self, problem: str) -> None:
        super().__init__(problem, hint="Give one row, one observation and one variance each, as long as the belief.")


class NotFinite(NotUnderstood):
    """A number that is missing or without limit, or an answer too large to be written."""

    code = "not-finite"

    def __init__(self, noun: str) -> None:
        super().__init__(f"Not every value of {noun} is a finite number.", hint="Leave out what was not measured.")


class VarianceNotPositive(NotUnderstood):
    """An observation that claims to be exact, or worse than that."""

    code = "variance-not-positive"

    def __init__(self, place: int, variance: float) -> None:
        super().__init__(
            f"Observation {place + 1} has a variance of {variance:g}.", hint="Every variance must be above 0."
        )
        self.place, self.variance = place, variance


class NotDetermined(NotUnderstood):
    """Observations that leave a coefficient, or the scale, open where no prior settles it."""

    code = "not-determined"

    def __init__(self, problem: str) -> None:
        super().__init__(problem, hint="Give more observations that differ, or say what is believed beforehand.")


class BadBelief(NotUnderstood):
    """A belief that is no distribution: a covariance that is not positive definite, a scale of 0."""

    code = "bad-belief"

    def __init__(self, problem: str) -> None:
        super().__init__(problem, hint="Give a symmetric, positive definite covariance and a scale above 0.")


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of the coefficients before the observations.

    Attributes:
        means: m₀, one for each coefficient.
        unit_covariance: V₀, so the covariance of the coefficients divided by s²; square and positive definite.
        scale: b₀ / a₀, a guess of s² in squared units of the observations where every vᵢ is a plain number.
        degrees_of_freedom: 2 a₀, how many observations that guess is worth: 0 for nothing, infinite if s² is known.

    Raises:
        ShapesDiffer: Other than one row and one column for each mean.
        BadBelief: The covariance is not symmetric, or a variance, the scale or the degrees of freedom is out of range.
    """

    means: tuple[float, ...]
    unit_covariance: tuple[tuple[float, ...], ...]
    scale: float
    degrees_of_freedom: float

    def __post_init__(self) -> None:
        rows, places = self.unit_covariance, range(len(self.means))
        if len(rows) != len(self.means) or any(len(row) != len(self.means) for row in rows):
            raise ShapesDiffer(f"A belief about {len(self.means)} coefficients wants a square covariance of that size.")
        if not all(math.isfinite(value) for value in self.means):
            raise NotFinite("the means believed")
        if not all(math.isfinite(rows[i][i]) and rows[i][i] > 0 for i in places):
            raise BadBelief("A coefficient believed has no variance above 0.")
        for i in places:
            for j in range(i):
                if not abs(rows[i][j] - rows[j][i]) <= 1e-9 * math.sqrt(rows[i][i]) * math.sqrt(rows[j][j]):
                    raise BadBelief("The covariance believed is not the same both ways.")
        if not (math.isfinite(self.scale) and self.scale > 0):
            raise BadBelief(f"A scale of {self.scale:g} is believed.")
        if not self.degrees_of_freedom >= 0:
            raise BadBelief(f"{self.degrees_of_freedom:g} degrees of freedom are believed.")


@dataclass(frozen=True, slots=True)
class Learned:
    """What the observations made of the belief.

    Attributes:
        means: Of the coefficients. Where some are held at zero, the likeliest that are nowhere below it.
        unit_covariance: Covariance of the coefficients divided by s².
        scale: What s² is now taken to be.
        degrees_of_freedom: Behind the scale; infinite if it was known.
        residuals: Observed less fitted, each over the root of its vᵢ, in the order of the observations.
        residual_sum: Sum of their squares, and of the squares by which the means left the belief. Divided by the
            degrees of freedom this is the scale that generalised least squares gives, where nothing was believed.
        held_at_zero: Places of the coefficients that observations pulled below zero and that are held there. The
            covariance and the scale are then still those of the posterior without that limit, so an interval made of
            them is wider than need be.
    """

    means: tuple[float, ...]
    unit_covariance: tuple[tuple[float, ...], ...]
    scale: float
    degrees_of_freedom: float
    residuals: tuple[float, ...] = field(repr=False)
    residual_sum: float
    held_at_zero: tuple[int, ...] = ()

    @property
    def covariance(self) -> tuple[tuple[float, ...], ...]:
        """The scale matrix of the coefficients' Student distribution: its roots are standard uncertainties.

        To be widened by the coverage factor of the degrees of freedom, as JCGM 100:2008 G.3.2 does.
        """
        return tuple(tuple(self.scale * cell for cell in row) for row in self.unit_covariance)

    @property
    def belief(self) -> Belief:
        """The same as a belief, from which further observations can be learned."""
        return Belief(self.means, self.unit_covariance, self.scale, self.degrees_of_freedom)

    def predict(self, design_row: Sequence[float], variance: float) -> tuple[float, float, float]:
        """What a further observation will be: mean, standard uncertainty (a scale), degrees of freedom.

        Args:
            design_row: Its x, one number for each coefficient.
            variance: Its v, 0 or more; 0 gives the uncertainty of x'c itself, without the scatter about it.

        Raises:
            ShapesDiffer: A row of another length.
            NotFinite: A number that is none, or a variance below 0.
        """
        x = [float(value) for value in design_row]
        if len(x) != len(self.means):
            raise ShapesDiffer(f"A row of {len(x)} numbers was given for {len(self.means)} coefficients.")
        if not all(math.isfinite(value) for value in (*x, variance)) or variance < 0:
            raise NotFinite("what is to be predicted")
        mean = math.fsum(value * coefficient for value, coefficient in zip(x, self.means, strict=True))
        spread = math.fsum(
            one * other * cell
            for one, row in zip(x, self.unit_covariance, strict=True)
            for other, cell in zip(x, row, strict=True)
        )
        return mean, math.sqrt(self.scale * (variance + max(0.0, spread))), self.degrees_of_freedom


def learn(
    design: Sequence[Sequence[float]],
    observed: Sequence[float],
    variances: Sequence[float],
    belief: Belief | None = None,
    *,
    non_negative: bool = False,
) -> Learned:
    """What *observed* says of the coefficients, together with what was believed of them.

    Args:
        design: One row x for each observation, one number for each coefficient.
        observed: y, in order of the rows.
        variances: v, the variance of each observation about x'c in units of s²; above 0.
        belief: What is believed beforehand; without one, the answer is that of generalised least squares.
        non_negative: No coefficient may be below zero. Where one is, the least-squares solution of the same system
            under that limit is taken (Lawson and Hanson, Solving Least Squares Problems, 1974, chapter 23).

    Raises:
        ShapesDiffer: Lengths that do not fit together.
        NotFinite: A number that is none, or numbers so large that the answer is none.
        VarianceNotPositive: A variance of 0 or less.
        NotDetermined: Without a belief: a coefficient that the rows leave open, or no more rows than coefficients.
        BadBelief: A covariance believed that is not positive definite.
    """
    import numpy as np

    x, y, v = _checked(design, observed, variances, belief)
    # What overflows on the way is found in the answer, and refused there.
    with np.errstate(over="ignore", invalid="ignore"):
        return _posterior(x, y, np.sqrt(v), belief, non_negative)


def _posterior(x: Array, y: Array, root: Array, belief: Belief | None, non_negative: bool) -> Learned:
    import numpy as np

    rows, count = x.shape
    system, target = x / root[:, None], y / root
    if belief is not None:
        prior_rows = _root_precision(belief)
        system = np.vstack((system, prior_rows))
        target = np.concatenate((target, prior_rows @ np.array(belief.means, dtype=float)))
    if not (np.isfinite(system).all() and np.isfinite(target).all()):
        raise NotFinite("the observations over their deviations")

    exponents = _exponents(system)
    scaled = np.ldexp(system, -exponents)
    q, r = np.linalg.qr(scaled)
    if belief is None:
        _refuse_open(r, rows)
    coefficients, residuals = _solved(scaled, target, q, r)
    unit = np.linalg.solve(r, np.eye(count))
    unit_covariance = np.ldexp(unit @ unit.T, -(exponents[:, None] + exponents[None, :]))
    degrees_of_freedom, scale = _scale(float(residuals @ residuals), rows, count, belief)

    held: tuple[int, ...] = ()
    if non_negative and coefficients.min() < 0:
        coefficients = _not_below_zero(scaled, target)
        residuals = target - scaled @ coefficients
        held = tuple(int(place) for place in np.flatnonzero(coefficients == 0))
    means = np.ldexp(coefficients, -exponents)
    if not all(np.isfinite(part).all() for part in (means, unit_covariance, residuals)) or not math.isfinite(scale):
        raise NotFinite("the answer")
    return Learned(
        means=tuple(means.tolist()),
        unit_covariance=tuple(tuple(row) for row in unit_covariance.tolist()),
        scale=scale,
        degrees_of_freedom=degrees_of_freedom,
        residuals=tuple(residuals[:rows].tolist()),
        residual_sum=float(residuals @ residuals),
        held_at_zero=held,
    )


def _checked(
    design: Sequence[Sequence[float]], observed: Sequence[float], variances: Sequence[float], belief: Belief | None
) -> tuple[Array, Array, Array]:
    import numpy as np

    count = len(belief.means) if belief is not None else (len(design[0]) if len(design) else 0)
    if any(len(row) != count for row in design):
        raise ShapesDiffer(f"Not every row has {count} numbers, one for each coefficient.")
    if not len(design) == len(observed) == len(variances):
        raise ShapesDiffer(f"{len(design)} rows, {len(observed)} observations and {len(variances)} variances.")
    if count == 0:
        raise NotDetermined("There is no coefficient to learn.")
    x = np.array([[float(cell) for cell in row] for row in design], dtype=float).reshape(len(design), count)
    y = np.array([float(value) for value in observed], dtype=float)
    v = np.array([float(value) for value in variances], dtype=float)
    for noun, values in (("the rows", x), ("the observations", y), ("the variances", v)):
        if not np.isfinite(values).all():
            raise NotFinite(noun)
    for place, variance in enumerate(v.tolist()):
        if variance <= 0:
            raise VarianceNotPositive(place, variance)
    return x, y, v


def _root_precision(belief: Belief) -> Array:
    """A matrix W with W'W the inverse of the unit covariance believed: the prior's rows."""
    import numpy as np

    covariance = np.array(belief.unit_covariance, dtype=float)
    deviations = np.sqrt(np.diag(covariance))
    correlation = covariance / deviations[:, None] / deviations[None, :]
    try:
        lower = np.linalg.cholesky((correlation + correlation.T) / 2)
    except np.linalg.LinAlgError as error:
        raise BadBelief("The covariance believed is not positive definite.") from error
    # The right-hand side is the diagonal of 1 / deviations, so the columns come out in units of the coefficients.
    rows: Array = np.linalg.solve(lower, np.diag(1 / deviations))
    return rows


def _exponents(system: Array) -> NDArray[np.int32]:
    """The power of two by which each column is divided; 0 for a column of noughts."""
    import numpy as np

    largest = np.abs(system).max(axis=0, initial=0.0)
    exponents: NDArray[np.int32] = np.frexp(largest)[1]
    return exponents


def _refuse_open(r: Array, rows: int) -> None:
    import numpy as np

    count = r.shape[1]
    if rows <= count:
        raise NotDetermined(f"{rows} observations cannot settle {count} coefficients and their scatter.")
    singular = np.linalg.svd(r, compute_uv=False)
    if singular[-1] <= singular[0] * np.finfo(float).eps * rows:
        raise NotDetermined("The observations leave one coefficient open: its column repeats what others say.")


def _solved(scaled: Array, target: Array, q: Array, r: Array) -> tuple[Array, Array]:
    """Coefficients and residuals; the second pass takes off most of the rounding of data far from zero."""
    import numpy as np

    coefficients = np.linalg.solve(r, q.T @ target)
    residuals = target - scaled @ coefficients
    step = np.linalg.solve(r, q.T @ residuals)
    return coefficients + step, residuals - scaled @ step


def _scale(residual_sum: float, rows: int, count: int, belief: Belief | None) -> tuple[float, float]:
    if belief is None:
        return rows - count, residual_sum / (rows - count)
    if math.isinf(belief.degrees_of_freedom):
        return math.inf, belief.scale
    degrees_of_freedom = belief.degrees_of_freedom + rows
    if degrees_of_freedom == 0:
        return 0.0, belief.scale
    return degrees_of_freedom, (belief.degrees_of_freedom * belief.scale + residual_sum) / degrees_of_freedom


def _not_below_zero(system: Array, target: Array) -> Array:
    """The non-negative least-squares solution, by Lawson and Hanson's active set."""
    import numpy as np

    count = system.shape[1]
    solution, free = np.zeros(count), np.zeros(count, dtype=bool)
    # The largest gradient that rounding alone makes at the optimum.
    columns = np.linalg.norm(system, axis=0)
    tolerance = 10 * np.finfo(float).eps * len(target) * columns * np.linalg.norm(target)
    refused = np.zeros(count, dtype=bool)
    while True:
        gradient = system.T @ (target - system @ solution)
        open_to = ~free & ~refused & (gradient > tolerance)
        if not open_to.any():
            return solution
        entering = int(np.argmax(np.where(open_to, gradient, -np.inf)))
        free[entering] = True
        trial = _least_squares(system, target, free)
        if trial[entering] <= 0:
            # Rounding made the gradient look positive; without this guard the set would change for ever.
            free[entering], refused[entering] = False, True
            continue
        refused[:] = False
        while trial[free].min() <= 0:
            blocking = free & (trial <= 0)
            step = float(np.min(solution[blocking] / (solution[blocking] - trial[blocking])))
            leaving = blocking & (solution <= step * (solution - trial) * (1 + 1e-12))
            solution = solution + step * (trial - solution)
            free &= ~leaving
            solution[~free] = 0.0
            if not free.any():
                trial = solution
                break
            trial = _least_squares(system, target, free)
        solution = trial


def _least_squares(system: Array, target: Array, free: NDArray[np.bool_]) -> Array:
    import numpy as np

    q, r = np.linalg.qr(system[:, free])
    trial = np.zeros(system.shape[1])
    trial[free], _ = _solved(system[:, free], target, q, r)
    return trial
