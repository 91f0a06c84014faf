"""From procedures to amalgam: the mass of restorations that were counted by surfaces, with its uncertainty.

The figures (masses by surfaces) are handed in as read from the file of capture figures; see `capture`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from wasteledger.errors import NotUnderstood


class BadCount(NotUnderstood):
    """A count of restorations below nothing, or a period that ends before it begins."""

    code = "bad-count"


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A mass that is not exactly known: mean and standard uncertainty in mg; both 0 or more."""

    mean_mg: float
    sd_mg: float


@dataclass(frozen=True, slots=True)
class Restorations:
    """Amalgam restorations counted by surfaces; `unknown` were counted without them.

    >>> (Restorations(one=2) + Restorations(one=1, four_or_more=3)).by_surfaces
    (3, 0, 0, 3)

    Raises:
        BadCount: A count below 0.
    """

    one: int = 0
    two: int = 0
    three: int = 0
    four_or_more: int = 0
    unknown: int = 0

    def __post_init__(self) -> None:
        if least := min(0, *self.by_surfaces, self.unknown):
            raise BadCount(f"{least} restorations cannot be.", hint="Counts are 0 or more.")

    def __add__(self, other: Restorations) -> Restorations:
        """Both together."""
        one, two, three, four = (mine + more for mine, more in zip(self.by_surfaces, other.by_surfaces, strict=True))
        return Restorations(one, two, three, four, self.unknown + other.unknown)

    @property
    def count(self) -> int:
        """How many in all."""
        return sum(self.by_surfaces) + self.unknown

    @property
    def by_surfaces(self) -> tuple[int, int, int, int]:
        """How many of one, two, three, and four or more surfaces."""
        return self.one, self.two, self.three, self.four_or_more


@dataclass(frozen=True, slots=True)
class Procedures:
    """What was done from *first_on* to *last_on*, both days included.

    Raises:
        BadCount: *last_on* lies before *first_on*.
    """

    first_on: date
    last_on: date
    removed: Restorations = Restorations()
    placed: Restorations = Restorations()

    def __post_init__(self) -> None:
        if self.last_on < self.first_on:
            raise BadCount(
                f"The period ends on {self.last_on}, before it begins on {self.first_on}.",
                hint="Give the first day first.",
            )


@dataclass(frozen=True, slots=True)
class RestorationMass:
    """Mass of one restoration: mean, standard error of that mean, and the scatter from one to the next; mg."""

    mean_mg: float
    mean_se_mg: float
    scatter_mg: float
    basis: str = ""


@dataclass(frozen=True, slots=True)
class MassOf:
    """Mass of several restorations, mg.

    Attributes:
        mean_mg: Its mean.
        shared_sd_mg: What the error of the published means makes of it: it grows with the number.
        scatter_sd_mg: What differs from one restoration to the next: it grows with the root of the number.
    """

    mean_mg: float
    shared_sd_mg: float
    scatter_sd_mg: float

    @property
    def sd_mg(self) -> float:
        """Standard uncertainty from both causes."""
        return math.hypot(self.shared_sd_mg, self.scatter_sd_mg)


def mass_of(
    counts: Sequence[float],
    masses: Sequence[RestorationMass],
    *,
    between_means: float = 1.0,
    scattering: Sequence[float] | None = None,
) -> MassOf:
    """The mass of *counts* restorations of each sort; the sorts are those of *masses*.

    Args:
        counts: How many of each sort; need not be whole (a count times the share of it that is meant).
        masses: Mass of one, by sort.
        between_means: Correlation of the errors of the published means (0 to 1). They come from one study, whose
            errors may be common, so 1, the wider, unless said otherwise.
        scattering: Weights of the scatter's variances, where they are not *counts* (for a share a of n, a² n).
    """
    mean_mg = math.fsum(count * mass.mean_mg for count, mass in zip(counts, masses, strict=True))
    errors = [count * mass.mean_se_mg for count, mass in zip(counts, masses, strict=True)]
    alone = math.fsum(error**2 for error in errors)
    shared = (1 - between_means) * alone + between_means * math.fsum(errors) ** 2
    scatter = math.fsum(
        weight * mass.scatter_mg**2
        for weight, mass in zip(counts if scattering is None else scattering, masses, strict=True)
    )
    return MassOf(mean_mg, math.sqrt(shared), math.sqrt(scatter))
