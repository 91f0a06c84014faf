"""Whether what was received agrees with what was stated as it left: a z-score from both uncertainties.

What left is a weighing (normal) or an estimate (known part plus a log-normal one), given by its value and the ends of
its 95 % interval. The score is the normal deviate that has as much below it as the received weight has below it in the
distribution of what left, widened by the uncertainty of the received weight. So an estimate that reaches far up and
little down is held to no limit that it did not state: twice the value may agree where half of it does not. For a
weighing it is the difference over the root of both variances.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from wasteledger.estimate.coverage import coverage_factor, student_share
from wasteledger.estimate.prior import BadPrior
from wasteledger.estimate.reading import opened

RECEIVED = "estimate/received.toml"

LEVEL = 0.99
"""Beyond this level of agreement a difference is a finding."""

# Tenths of a deviation, six either way: the trapezium rule over a normal density.
_NODES = [(step / 10, math.exp(-((step / 10) ** 2) / 2) / (10 * math.sqrt(2 * math.pi))) for step in range(-60, 61)]
_SMALLEST = 1e-15  # smaller shares than this are lost in the sums above; such a score is beyond 7.9 either way


@dataclass(frozen=True, slots=True)
class Stated:
    """What was stated of a mass as it left, in mg.

    Attributes:
        value_mg: The value.
        lower_mg: Lower end of its 95 % interval.
        upper_mg: Its upper end.
        estimated_mg: The part of the value that was counted and estimated.
        is_weighed: Nothing unweighed was in it.
        degrees_of_freedom: Those that the interval was made with; infinite for published starting values.
    """

    value_mg: int
    lower_mg: int
    upper_mg: int
    estimated_mg: int
    is_weighed: bool
    degrees_of_freedom: float = math.inf


@dataclass(frozen=True, slots=True)
class ReceivedLimits:
    """Limits about a received weight whose paper states no uncertainty.

    A share of what stood on the facility's scale, container and all, or the least if that is more.
    """

    share_permille: int
    least_mg: int
    basis: str = ""

    def uncertainty_mg(self, gross_mg: int) -> float:
        """The standard uncertainty of a net weight that was found by weighing *gross_mg*, in mg."""
        limit = max(self.least_mg, gross_mg * self.share_permille / 1000)
        return rectangular(-limit, limit)[1]


def rectangular(low: float, high: float) -> tuple[float, float]:
    """Mean and standard uncertainty of a quantity that lies between two limits, every value equally likely.

    >>> mean, u = rectangular(0.43, 0.54)
    >>> round(mean, 3), round(u, 4)
    (0.485, 0.0318)

    Raises:
        ValueError: The limits stand the wrong way round.

    Source: JCGM 100:2008, 4.3.7.
    """
    if low > high:
        raise ValueError("the lower limit comes first")
    return (low + high) / 2, (high - low) / math.sqrt(12)


def z_score(stated: Stated, received_mg: int, received_uncertainty_mg: float) -> float:
    """How many normal deviates a received weight lies from what was stated; below 0 where less came than left.

    *received_uncertainty_mg* is a standard uncertainty. Scores beyond 7.9 of an estimate are given as 7.9 or so.

    Raises:
        ValueError: An uncertainty below 0.
    """
    if received_uncertainty_mg < 0:
        raise ValueError("an uncertainty is 0 or more")
    known_mg = stated.value_mg - stated.estimated_mg
    low, high = stated.lower_mg - known_mg, stated.upper_mg - known_mg
    if stated.is_weighed or not 0 < low < high:
        return _two_sided(stated, received_mg, received_uncertainty_mg)
    middle = math.log(low * high) / 2
    log_sd = math.log(high / low) / 2 / coverage_factor(stated.degrees_of_freedom)
    below = 0.0
    for node, weight in _NODES:
        estimated = received_mg - known_mg - node * received_uncertainty_mg
        if estimated > 0:
            below += weight * student_share((math.log(estimated) - middle) / log_sd, stated.degrees_of_freedom)
    return NormalDist().inv_cdf(min(1 - _SMALLEST, max(_SMALLEST, below)))


def is_beyond(z: float, level: float = LEVEL) -> bool:
    """Whether a score lies outside what so large a share of agreeing pairs gives, both sides together."""
    return abs(z) > coverage_factor(coverage=level)


def read_received_limits(source: str | bytes, *, name: str = RECEIVED) -> ReceivedLimits:
    """The limits of a received weight from a file's TOML text.

    Raises:
        BadPrior: No TOML, or keys that are missing, unknown or out of range; all of them are named.
    """
    top = opened(source, name, BadPrior)
    table = top.section("limits")
    found = ReceivedLimits(
        table.whole("share_permille", 0, 1000), table.whole("least_mg", 0, 10**9), table.text("basis")
    )
    if faults := top.faults():
        raise BadPrior(faults, name=name)
    return found


def _two_sided(stated: Stated, received_mg: int, received_uncertainty_mg: float) -> float:
    """The difference over the root of both variances, with the half-width of the side on which it lies."""
    difference = received_mg - stated.value_mg
    reach = stated.upper_mg - stated.value_mg if difference > 0 else stated.value_mg - stated.lower_mg
    # Weighings have the normal factor whatever the estimate had learned.
    factor = coverage_factor() if stated.is_weighed else coverage_factor(stated.degrees_of_freedom)
    both = math.hypot(max(0, reach) / factor, received_uncertainty_mg)
    if not both:
        return math.copysign(-NormalDist().inv_cdf(_SMALLEST), difference) if difference else 0.0
    return difference / both
