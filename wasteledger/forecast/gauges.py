"""What a container measures, and what comes to it: the plain values that a forecast starts from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from wasteledger.errors import NotUnderstood
from wasteledger.estimate.prior import Prior
from wasteledger.forecast.rates import Rate

Measure = Literal["mass", "level", "pieces"]


class BadForecast(NotUnderstood):
    """Values of which no forecast can be made."""

    code = "bad-forecast"


@dataclass(frozen=True, slots=True)
class Inflow:
    """What one kind of swap, or one stream put in by count, brings to a container.

    Attributes:
        kind: A kind of the prior; any other name where *exposure_mean* is 0.
        rate: How often it comes.
        exposure_mean: Mean exposure of one (full swaps of one dentist).
        exposure_sd: Standard deviation of the exposure from one to the next.
        body_mean: What each brings besides debris, in the unit of the measure: bodies of known mass, volumes.
        body_sd: Its standard deviation from one to the next.
        pieces: How many pieces come at once, with the share of each; for the limit of pieces, which looks at nothing
            else.

    Raises:
        BadForecast: A value below 0, or shares that do not add up to 1.
    """

    kind: str
    rate: Rate
    exposure_mean: float = 1.0
    exposure_sd: float = 0.0
    body_mean: float = 0.0
    body_sd: float = 0.0
    pieces: tuple[tuple[int, float], ...] = ((1, 1.0),)

    def __post_init__(self) -> None:
        numbers = (self.exposure_mean, self.exposure_sd, self.body_mean, self.body_sd)
        if not all(0 <= number < math.inf for number in numbers):
            raise BadForecast(
                f"What {self.kind} brings must be 0 or more.", hint="Give exposures and bodies of 0 or more."
            )
        if not all(size >= 1 and share >= 0 for size, share in self.pieces) or not math.isclose(
            math.fsum(share for _, share in self.pieces), 1, rel_tol=1e-6
        ):
            raise BadForecast(
                f"The pieces that {self.kind} brings do not add up.",
                hint="Give how many come at once, 1 or more, with shares that add up to 1.",
            )

    @property
    def pieces_mean(self) -> float:
        """Pieces that come at once, on average."""
        return math.fsum(size * share for size, share in self.pieces)

    @property
    def pieces_variance(self) -> float:
        """Variance of the pieces that come at once."""
        mean = self.pieces_mean
        return math.fsum(share * (size - mean) ** 2 for size, share in self.pieces)


@dataclass(frozen=True, slots=True)
class Gauge:
    """One measure of a container now, against its limit; all in the unit of the measure (mg, mL).

    Attributes:
        measure: Which.
        limit: What it may reach.
        known: What stands in it that was weighed, read or is exactly known.
        known_sd: Standard uncertainty of that.
        exposures: What went in since, unweighed, for each kind of the prior; empty for nothing.
        prior: What one full swap of each kind brings; None where only bodies count.
        is_learned: Whether weighings of this site taught the prior.

    Raises:
        BadForecast: A value below 0, a limit that is not above 0, or exposures that do not fit the prior.
    """

    measure: Measure
    limit: float
    known: float = 0.0
    known_sd: float = 0.0
    exposures: tuple[float, ...] = ()
    prior: Prior | None = None
    is_learned: bool = False

    def __post_init__(self) -> None:
        numbers = (self.limit, self.known, self.known_sd, *self.exposures)
        if not all(0 <= number < math.inf for number in numbers) or not self.limit:
            raise BadForecast(
                f"What stands in a container must be 0 or more, and its limit of {self.measure} above 0.",
                hint="Leave a measure without a limit out.",
            )
        if self.exposures and len(self.exposures) != len(self.prior.kinds if self.prior else ()):
            raise BadForecast(
                f"{len(self.exposures)} exposures do not fit the kinds of the prior.",
                hint="Give one for each of its kinds.",
            )
