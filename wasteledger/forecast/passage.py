"""When a quantity that grows unevenly first passes a mark: the inverse Gaussian distribution.

A Brownian motion with drift d and variance v a day first passes a mark at distance r after a time that is inverse
Gaussian with mean m = r/d and shape l = r²/v (E. Schrödinger 1915, M. Smoluchowski 1915; J. L. Folks, R. S. Chhikara,
Journal of the Royal Statistical Society B 40 (1978) 263-289):

    P(T ≤ t) = Φ(√(l/t) (t/m - 1)) + exp(2l/m) Φ(-√(l/t) (t/m + 1))

The second term is a product of something huge and something tiny when l/m is large; its logarithms are added instead.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from wasteledger.errors import NotUnderstood

_ROOT_TWO = math.sqrt(2)
# Beyond this, erfc loses all its digits in a double (it underflows near 38 deviations); the series has many by then.
_FAR_TAIL = -12.0


class BadPassage(NotUnderstood):
    """Times, or a distribution's mean and shape, of which no first passage can be made."""

    code = "bad-passage"


@dataclass(frozen=True, slots=True)
class InverseGaussian:
    """A time to first passage.

    Attributes:
        mean: Its mean, in the unit of time; above 0.
        shape: Its shape, in the same unit; above 0. The variance is mean³/shape.

    >>> round(InverseGaussian(1.0, 1.0).chance_by(1.0), 6)
    0.668102

    Raises:
        BadPassage: A mean or a shape that is not a number above 0.
    """

    mean: float
    shape: float

    def __post_init__(self) -> None:
        if not (0 < self.mean < math.inf and 0 < self.shape < math.inf):
            raise BadPassage(
                f"A first passage with mean {self.mean} and shape {self.shape} does not exist.",
                hint="Both must be numbers above 0.",
            )

    @classmethod
    def passing(cls, distance: float, drift: float, variance: float) -> InverseGaussian:
        """The time to pass a mark at *distance*, with *drift* and *variance* for each unit of time; all above 0.

        Raises:
            BadPassage: One of them is not above 0.
        """
        if not (distance > 0 and drift > 0 and variance > 0):
            raise BadPassage(
                "A first passage wants a distance, a drift and a variance above 0.",
                hint="What has passed the mark already, or stands still, has no distribution of its own.",
            )
        return cls(distance / drift, distance**2 / variance)

    @classmethod
    def fitted(cls, times: Sequence[float]) -> InverseGaussian:
        """The most likely distribution behind *times*: their mean, and 1/shape the mean of 1/t - 1/mean.

        Raises:
            BadPassage: Fewer than two times, all of them alike, or one that is not above 0.

        Source: M. C. K. Tweedie, Annals of Mathematical Statistics 28 (1957) 362-377.
        """
        if len(times) < 2 or not all(0 < time < math.inf for time in times):
            raise BadPassage("A fit wants two times or more, each above 0.", hint="Leave out what did not pass yet.")
        mean = math.fsum(times) / len(times)
        excess = math.fsum(1 / time - 1 / mean for time in times) / len(times)
        if not excess > 0:
            raise BadPassage("All times are alike, so nothing tells their spread.", hint="Give times that differ.")
        return cls(mean, 1 / excess)

    @property
    def sd(self) -> float:
        """Standard deviation, in the unit of time."""
        return math.sqrt(self.mean**3 / self.shape)

    def chance_by(self, time: float) -> float:
        """Probability that the mark is passed by *time*; 0 at or before 0."""
        return chance_passed(time, self.mean, self.shape)

    def quantile(self, chance: float) -> float:
        """The time by which the mark is passed with probability *chance*, to full precision by bisection.

        Raises:
            BadPassage: A chance that is not between 0 and 1.
        """
        if not 0 < chance < 1:
            raise BadPassage(f"{chance} is no chance between 0 and 1.", hint="Write 0.9 for 90 %.")
        # The normal of the same moments in logarithms is a start; both ends are then pushed out until they hold it.
        reach = math.exp(NormalDist().inv_cdf(chance) * math.sqrt(math.log1p(self.mean / self.shape)))
        low = high = self.mean * reach
        while self.chance_by(low) > chance and low > 0:
            low /= 2
        while self.chance_by(high) < chance:
            high *= 2
        while low < (middle := (low + high) / 2) < high:
            low, high = (middle, high) if self.chance_by(middle) < chance else (low, middle)
        return high


def chance_passed(time: float, mean: float, shape: float) -> float:
    """Probability that a first passage with this *mean* and *shape* has happened by *time* (one unit for all three).

    Nothing is checked here; a forecast asks this many thousand times. See `InverseGaussian`.
    """
    if time <= 0:
        return 0.0
    root = math.sqrt(shape / time)
    first = math.erfc(root * (1 - time / mean) / _ROOT_TWO) / 2
    second = 2 * shape / mean + _log_normal_below(-root * (time / mean + 1))
    return min(1.0, first + math.exp(min(0.0, second)))


def _log_normal_below(z: float) -> float:
    """Logarithm of Φ(z)."""
    if z > _FAR_TAIL:
        return math.log(math.erfc(-z / _ROOT_TWO) / 2)
    # M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 26.2.12; the error is below the last term.
    square = z * z
    series = 1 - 1 / square * (1 - 3 / square * (1 - 5 / square * (1 - 7 / square * (1 - 9 / square))))
    return -square / 2 - math.log(-z * math.sqrt(2 * math.pi)) + math.log(series)
