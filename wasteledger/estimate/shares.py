"""A share of a whole that is not exactly known, and what its logarithm looks like.

Stages multiply, so catches are compared by their logarithms; the moments of a beta variable's logarithm are exact, and
wider for a share that may be close to 0 than any matching of means and deviations would make them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

# Above this the asymptotic series are right to better than 1e-12.
_SERIES_FROM = 10.0


@dataclass(frozen=True, slots=True)
class LogMoments:
    """Of ln s and ln (1 - s): their means, variances, third central moments, and covariance."""

    mean: float
    variance: float
    third: float
    rest_mean: float
    rest_variance: float
    rest_third: float
    covariance: float


@dataclass(frozen=True, slots=True)
class Beta:
    """A share between 0 and 1 with a beta distribution of this mean and standard deviation.

    >>> [round(shape, 3) for shape in Beta(0.5, 0.15).shapes]
    [5.056, 5.056]
    """

    mean: float
    sd: float
    basis: str = ""

    @property
    def second(self) -> float:
        """Mean of its square."""
        return self.mean**2 + self.sd**2

    @property
    def rest_second(self) -> float:
        """Mean of the square of what is left of 1."""
        return (1 - self.mean) ** 2 + self.sd**2

    @property
    def shapes(self) -> tuple[float, float]:
        """The two shape parameters; infinite where nothing scatters."""
        if not self.sd:
            return math.inf, math.inf
        total = self.mean * (1 - self.mean) / self.sd**2 - 1
        return self.mean * total, (1 - self.mean) * total

    @property
    def logs(self) -> LogMoments:
        """Moments of the logarithms of the share and of its rest.

        Source: N. L. Johnson, S. Kotz, N. Balakrishnan, Continuous Univariate Distributions 2 (1995), chapter 25
        (from memory); checked against scipy and by simulation in the tests.
        """
        if not self.sd:
            rest = math.log(1 - self.mean) if self.mean < 1 else -math.inf
            return LogMoments(math.log(self.mean), 0.0, 0.0, rest, 0.0, 0.0, 0.0)
        a, b = self.shapes
        both, spread, skew = digamma(a + b), trigamma(a + b), tetragamma(a + b)
        return LogMoments(
            mean=digamma(a) - both,
            variance=trigamma(a) - spread,
            third=tetragamma(a) - skew,
            rest_mean=digamma(b) - both,
            rest_variance=trigamma(b) - spread,
            rest_third=tetragamma(b) - skew,
            covariance=-spread,
        )


def digamma(x: float) -> float:
    """Derivative of ln Γ at *x* above 0.

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 6.3.5 and 6.3.18.
    """
    lower = 0.0
    while x < _SERIES_FROM:
        lower -= 1 / x
        x += 1
    s = 1 / x**2
    return lower + math.log(x) - 0.5 / x - s * (1 / 12 - s * (1 / 120 - s * (1 / 252 - s * (1 / 240 - s / 132))))


def trigamma(x: float) -> float:
    """Second derivative of ln Γ at *x* above 0.

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 6.4.6 and 6.4.12.
    """
    lower = 0.0
    while x < _SERIES_FROM:
        lower += 1 / x**2
        x += 1
    s = 1 / x**2
    return lower + 1 / x + s / 2 + s / x * (1 / 6 - s * (1 / 30 - s * (1 / 42 - s * (1 / 30 - s * 5 / 66))))


def tetragamma(x: float) -> float:
    """Third derivative of ln Γ at *x* above 0.

    Source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 6.4.6 and 6.4.13.
    """
    lower = 0.0
    while x < _SERIES_FROM:
        lower -= 2 / x**3
        x += 1
    s = 1 / x**2
    return lower - s - s / x - s**2 * (1 / 2 - s * (1 / 6 - s * (1 / 6 - s * (3 / 10 - s * 5 / 6))))


def normal_equivalent_of_skew(z: float, skewness: float) -> float:
    """The normal deviate that is as unlikely as *z* of a standardised variable with this *skewness*.

    The variable is taken as Pearson's type III, whose tail is exponential as that of a logarithm of a share is. Good
    to a tenth up to three deviations for a skewness up to 1.
    Beyond the end that this distribution has on its short side, the deviate is that of the end.

    Source: E. B. Wilson, M. M. Hilferty, The distribution of chi-square, Proc Natl Acad Sci 17 (1931) 684.
    """
    if abs(skewness) < 1e-6:
        return z
    return 6 / skewness * (math.cbrt(max(0.0, 1 + skewness * z / 2)) - 1) + skewness / 6
