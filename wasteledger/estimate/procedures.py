"""From procedures to amalgam: what restorations removed and placed send into the suction, with its uncertainty.

The figures (masses by surfaces, shares) are handed in as read from the file of capture figures; see `capture`.
"""

from __future__ import annotations

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

    Raises:
        BadCount: A count below 0.
    """

    one: int = 0
    two: int = 0
    three: int = 0
    four_or_more: int = 0
    unknown: int = 0

    def __add__(self, other: Restorations) -> Restorations:
        """Both together."""
        raise BadCount("")

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
