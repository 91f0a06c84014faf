"""Weighed increments against what the counts said: one at a time, in pairs of opposite sign, and all together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class WeighingCheck:
    """One increment between two weighings of a container, and what the counts predicted without knowing it.

    Attributes:
        container: Its short name.
        from_on: Day of the weighing before (or of the opening).
        on: Day of the weighing.
        weighed_mg: Net mass that came in between, tare of known trap bodies taken off; may be below 0.
        weighed_sd_mg: Standard uncertainty of that (both weighings).
        predicted_mg: Mean of the prediction: prior, or learned from all other increments.
        predicted_sd_mg: Its standard uncertainty (scale of the Student distribution), scatter included, scale left out.
        degrees_of_freedom: Of the prediction.
        seq: The weighing's entry.
    """

    container: str
    from_on: date
    on: date
    weighed_mg: float
    weighed_sd_mg: float
    predicted_mg: float
    predicted_sd_mg: float
    degrees_of_freedom: float = math.inf
    seq: int = 0


@dataclass(frozen=True, slots=True)
class WeighingLine:
    """A check with its outcome.

    Attributes:
        check: What was compared.
        z: Weighed against predicted, in normal standard deviations; below 0: less than predicted was weighed.
        is_odd: Whether it lies outside what is expected of all these increments together.
    """

    check: WeighingCheck
    z: float
    is_odd: bool


@dataclass(frozen=True, slots=True)
class Weighings:
    """All increments of a period.

    Attributes:
        lines: One for each check, oldest first.
        chi_square: Sum of the squared z.
        degrees_of_freedom: How many.
        p: Chance of so large a sum if nothing is wrong; 1 where there are none.
        swapped: Pairs of lines that disagree in opposite directions about the same time: perhaps put into the wrong
            container.
    """

    lines: tuple[WeighingLine, ...] = ()
    chi_square: float = 0.0
    degrees_of_freedom: int = 0
    p: float = 1.0
    swapped: tuple[tuple[WeighingLine, WeighingLine], ...] = ()


def compare_weighings(checks: Sequence[WeighingCheck]) -> Weighings:
    """Hold each weighed increment against its prediction."""
    raise RuntimeError
