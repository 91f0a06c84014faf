"""The tables of the standing mass: how often its interval holds the truth, and how far off each way of reckoning is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random
from statistics import median, quantiles

from demo.trials.standing import APART, SCENARIOS, is_covered, moments, values_mg
from wasteledger.estimate.prior import Prior

PICKUPS = (0, 1, 3, 6)
WIDER, WIDER_TIMES = "wider", 1.5
"""A scenario of its own: each kind off by its own factor, and swaps that scatter so many times as published."""

OURS, ORACLE = "this estimate", "true means (the limit)"
METHODS = (ORACLE, OURS, "grams a trap, by hand", "grams a week, by hand", "published values alone")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One container at one moment: after how many pickups, whether covered, and each method's relative error."""

    pickups: int
    is_covered: bool
    errors: Mapping[str, float]


@dataclass(slots=True)
class Column:
    """All practices of one scenario after some pickups."""

    inside: int = 0
    of: int = 0
    errors: dict[str, list[float]] = field(default_factory=dict)
    limit: list[float] = field(default_factory=list)  # of the true means, whatever the number of pickups

    @property
    def covered(self) -> float:
        """Share of intervals that held the truth."""
        return self.inside / self.of

    def middle(self, method: str) -> float:
        """Median relative error."""
        return median(self.errors[method])

    def ninetieth(self, method: str) -> float:
        """90th percentile of the relative error."""
        return _ninetieth(self.errors[method])

    def times_limit(self, method: str) -> tuple[float, float]:
        """Median and 90th percentile over those of the limit, which does not depend on how many were weighed."""
        return self.middle(method) / median(self.limit), self.ninetieth(method) / _ninetieth(self.limit)


def outcomes(prior: Prior, scenario: str, number: int, seed: int) -> list[Outcome]:
    """One practice at a moment after each number of pickups."""
    random = Random(f"standing {seed} {scenario} {number}")
    found = []
    factors, times = (SCENARIOS[APART], WIDER_TIMES) if scenario == WIDER else (SCENARIOS[scenario], 1.0)
    for moment in moments(prior, factors, number, random, PICKUPS, times):
        truth = moment.truth_mg
        errors = {name: abs(value - truth) / truth for name, value in values_mg(moment, prior).items()}
        found.append(Outcome(len(moment.past), is_covered(moment, prior), errors))
    return found


def columns(every: Sequence[Sequence[Outcome]]) -> dict[int, Column]:
    """The outcomes of many practices, by number of pickups."""
    limit: list[float] = []
    found = {count: Column(limit=limit) for count in PICKUPS}
    for outcome in (one for some in every for one in some):
        column = found[outcome.pickups]
        column.of += 1
        column.inside += outcome.is_covered
        for method, error in outcome.errors.items():
            column.errors.setdefault(method, []).append(error)
        limit.append(outcome.errors[ORACLE])
    return found


def _ninetieth(errors: Sequence[float]) -> float:
    return quantiles(errors, n=10, method="inclusive")[8]
