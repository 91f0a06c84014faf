"""How many pieces come together: compound distributions by H. H. Panjer's recursion.

For counts whose chances follow p(n) = (a + b/n) p(n-1), the sum S of so many independent severities f has

    g(s) = 1/(1 - a f(0)) Σⱼ (a + b j/s) f(j) g(s - j)

(H. H. Panjer, ASTIN Bulletin 12 (1981) 22-26; R. Kaas et al., Modern Actuarial Risk Theory, 3.5). All terms are
positive for Poisson and negative binomial counts, so that no digit is lost; for binomial ones they alternate, and
counts that are more regular than Poisson are therefore met by a part that comes for sure and a Poisson rest (translated
Poisson; A. Röllin, Annals of Applied Probability 15 (2005) 1115-1128, has it for severities of 1).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.errors import NotUnderstood

_LARGE = 1e200


class BadCompound(NotUnderstood):
    """Counts or severities of which no compound distribution can be made."""

    code = "bad-compound"


@dataclass(frozen=True, slots=True)
class Frequency:
    """Counts as Panjer's recursion wants them: p(n) = (a + b/n) p(n-1).

    Attributes:
        a: 0 for Poisson; between 0 and 1 for negative binomial.
        b: The mean for Poisson.
    """

    a: float
    b: float

    @classmethod
    def of(cls, mean: float, variance: float | None = None) -> Frequency:
        """Poisson counts of this *mean*, or negative binomial ones where the *variance* is above it.

        Raises:
            BadCompound: A mean below 0, or a variance below the mean.
        """
        variance = mean if variance is None else variance
        if not (0 <= mean <= variance < math.inf):
            raise BadCompound(
                f"Counts of mean {mean} and variance {variance} are more regular than Poisson.",
                hint="Give a variance of at least the mean; let the regular part come for sure.",
            )
        if variance == mean:
            return cls(0.0, mean)
        # Negative binomial of size r and chance q: mean r (1-q)/q, variance mean/q; a = 1-q, b = (r-1)(1-q).
        a = 1 - mean / variance
        size = mean**2 / (variance - mean)
        return cls(a, (size - 1) * a)

    def log_chance_of_nothing(self, share_of_nothing: float) -> float:
        """Logarithm of the chance that the sum is 0, where each severity is 0 with this share."""
        if not self.a:
            return -self.b * (1 - share_of_nothing)
        size = self.b / self.a + 1
        return size * (math.log1p(-self.a) - math.log1p(-self.a * share_of_nothing))


def compound(frequency: Frequency, severity: Sequence[float], upto: int) -> list[float]:
    """Chances that the sum is 0, 1, … *upto*.

    Args:
        frequency: How many come.
        severity: Chances that one of them is 0, 1, 2, …
        upto: The last sum wanted, 0 or more.

    Raises:
        BadCompound: Severities that are below 0, do not add up to 1, or are always 0.
    """
    if not all(share >= 0 for share in severity) or not math.isclose(math.fsum(severity), 1, rel_tol=1e-9):
        raise BadCompound("Chances of a severity must be 0 or more and add up to 1.", hint="Divide them by their sum.")
    a, b, none = frequency.a, frequency.b, severity[0]
    terms = [(size, share) for size, share in enumerate(severity) if size and share]
    # Kept relative to the chance of nothing, which may be smaller than any double.
    log_scale = frequency.log_chance_of_nothing(none)
    chances = [1.0]
    for total in range(1, upto + 1):
        found = math.fsum(
            (a + b * size / total) * share * chances[total - size] for size, share in terms if size <= total
        )
        chances.append(found / (1 - a * none))
        if chances[-1] > _LARGE:
            chances = [chance / _LARGE for chance in chances]
            log_scale += math.log(_LARGE)
    return [math.exp(math.log(chance) + log_scale) if chance > 0 else 0.0 for chance in chances]


def chance_of_reaching(wanted: int, mean: float, variance: float, severity: Sequence[float]) -> float:
    """The chance that a sum of this *mean* and *variance* reaches *wanted*, made up of severities of that kind.

    Counts are negative binomial where the variance is more than a compound Poisson sum would have; else a part of the
    mean comes for sure and the rest is compound Poisson. Mean and variance are met exactly but for the sure part's
    own whole number (its variance is at most a quarter).
    """
    if wanted <= 0:
        return 1.0
    first = math.fsum(size * share for size, share in enumerate(severity))
    second = math.fsum(size**2 * share for size, share in enumerate(severity))
    if not (mean > 0 and first > 0):
        return 0.0
    count = mean / first
    if variance >= count * second:
        count_variance = max(count, (variance - count * (second - first**2)) / first**2)
        return _tail(Frequency.of(count, count_variance), severity, wanted)
    sure = mean - variance / second * first
    frequency = Frequency.of(variance / second)
    below, part = math.floor(sure), sure - math.floor(sure)
    return (1 - part) * _tail(frequency, severity, wanted - below) + part * _tail(
        frequency, severity, wanted - below - 1
    )


def _tail(frequency: Frequency, severity: Sequence[float], wanted: int) -> float:
    if wanted <= 0:
        return 1.0
    return max(0.0, 1 - math.fsum(compound(frequency, severity, wanted - 1)))
