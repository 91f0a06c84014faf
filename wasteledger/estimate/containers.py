"""What stands in a container now: the last weighing, and an estimate of what went in since.

Four parts add up. What was weighed (the container, or single pieces): a normal quantity whose variance the scale's
limits give. Trap bodies of known mass: taken as exact. Debris that was counted but not weighed: exposure times the
mean mass of its kind. Pieces and bodies whose mass nothing tells: never taken as nothing, but counted and named.

The exposure x of a tally is what would be full swaps of one dentist: the grade of the condition seen times the
dentists served; where nobody looked, dentist-days over the nominal days of the kind. The variance of the debris is

    x' Σ x  +  Σ xₖ sₖ²

The first term is the error that all swaps of a kind share (and partly all kinds), so it grows with the square of their
number; the second is scatter from swap to swap, proportional to exposure. Taking it proportional for graded swaps as
well (rather than to the squared grade) is the wider choice below a full grade, and lets tallies be split or pooled
without changing anything. Shared part: what is left out here is wrong for every sum of many (JCGM 100:2008, F.1.2.3
and 5.2.2, correlated input quantities).

The interval: normal for what was weighed, log-normal by matched moments for what was estimated, and the quantiles of
their sum. The shared error and the scatter multiply there, since a site whose traps are twice as heavy has
twice the scatter too; the standard uncertainty and its budget stay first order, as the law of propagation has them
(JCGM 100:2008, 5.1.2), so for one or two swaps the interval is wider than the standard uncertainty alone would say.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from wasteledger.errors import Unknown
from wasteledger.estimate.coverage import coverage_factor, lognormal_limits, sum_limits
from wasteledger.estimate.prior import Prior
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.traps import Condition

STREAM = "stream:"

Basis = Literal["weighed", "estimate", "empty"]


class UnknownKind(Unknown):
    """A tally of a kind, or with a condition, that the prior says nothing of."""

    code = "unknown-kind"

    def __init__(self, noun: str, kind: str) -> None:
        super().__init__(
            f"There is no starting mass for the {noun} “{kind}”.",
            hint="Add it to the file of starting values (estimate/defaults.toml).",
        )
        self.kind = kind


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One cause of uncertainty and its standard uncertainty; the squares of all lines add up."""

    part: Literal["scale", "shared", "scatter"]
    standard_uncertainty_mg: int


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a container holds besides itself; whole milligrams.

    Attributes:
        value_mg: Sum of the three parts below; pieces of unknown mass are not in it.
        standard_uncertainty_mg: Of the value, to the nearest milligram (1 where less but not nothing).
        lower_mg: Lower end of the 95 % interval, never below 0.
        upper_mg: Its upper end. The interval need not be symmetric; its ends are carried outward.
        expanded_mg: Half the width of the interval; for what was weighed, U = k u (95 %).
        weighed_mg: What stood on a scale.
        estimated_mg: What was counted and estimated.
        inserts_mg: Known mass of trap bodies that went in unweighed.
        basis: ``weighed`` where nothing unweighed went in since the last weighing, ``empty`` where nothing ever did,
            else ``estimate``.
        unknown: How many pieces and bodies of unknown mass are in it, by source.
        budget: Standard uncertainty by cause.
        degrees_of_freedom: Behind the estimated part; None where they are without limit, as those of a scale's limits
            are (a rectangular distribution; JCGM 100:2008, G.4.2 and G.4.3), so also where nothing was estimated.
    """

    value_mg: int
    standard_uncertainty_mg: int
    lower_mg: int
    upper_mg: int
    expanded_mg: int
    weighed_mg: int
    estimated_mg: int
    inserts_mg: int
    basis: Basis
    unknown: tuple[tuple[str, int], ...] = ()
    budget: tuple[BudgetLine, ...] = ()
    degrees_of_freedom: int | None = None

    @property
    def unknown_pieces(self) -> int:
        """How many pieces and bodies of unknown mass are in it."""
        return sum(count for _, count in self.unknown)

    @property
    def scale_mg(self) -> int:
        """Standard uncertainty of what was weighed."""
        return next((line.standard_uncertainty_mg for line in self.budget if line.part == "scale"), 0)


def standing_mass(holding: Holding, prior: Prior, *, mass_sources: Mapping[str, str] | None = None) -> Estimate:
    """Estimate what a container holds now.

    Args:
        holding: What is known of its contents, net of the container itself.
        prior: Masses by kind, published or learned.
        mass_sources: The prior's kind that each stream put in by count takes its mass from, by stream. A stream
            without one (or whose kind the prior has not) counts as unknown.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    exposures, unknown = _exposures(holding.tallies, prior, mass_sources or {})
    x = [float(exposure) for exposure in exposures]
    estimated = math.fsum(share * mean for share, mean in zip(x, prior.means_mg, strict=True))
    scale_variance = (holding.base_twelfths_mg2 + holding.added_twelfths_mg2) / 12
    shared_variance = max(0.0, _quadratic(x, prior.covariance_mg2))
    scatter_variance = math.fsum(share * sd**2 for share, sd in zip(x, prior.scatter_sd_mg, strict=True))

    weighed_mg = holding.base_mg + holding.added_mg
    inserts_mg = sum(tally.inserts_mg for tally in holding.tallies)
    estimated_mg = round(estimated)
    value_mg = weighed_mg + inserts_mg + estimated_mg

    scale_reach = coverage_factor() * math.sqrt(scale_variance)
    factor = coverage_factor(prior.degrees_of_freedom)
    low, high = lognormal_limits(estimated, (shared_variance, scatter_variance), factor)
    # Bodies of known mass are exact, and shift both ends alike.
    lower, upper = sum_limits(weighed_mg + inserts_mg, math.sqrt(scale_variance), low, high)
    lower_mg, upper_mg = max(0, min(value_mg, math.floor(lower))), max(value_mg, math.ceil(upper))
    basis, is_limitless = _basis(holding), math.isinf(prior.degrees_of_freedom)
    return Estimate(
        value_mg=value_mg,
        standard_uncertainty_mg=_root_mg(scale_variance + shared_variance + scatter_variance),
        lower_mg=lower_mg,
        upper_mg=upper_mg,
        expanded_mg=(upper_mg - lower_mg + 1) // 2 if basis == "estimate" else math.ceil(scale_reach),
        weighed_mg=weighed_mg,
        estimated_mg=estimated_mg,
        inserts_mg=inserts_mg,
        basis=basis,
        unknown=tuple(sorted(unknown.items())),
        budget=(
            BudgetLine("scale", _root_mg(scale_variance)),
            BudgetLine("shared", _root_mg(shared_variance)),
            BudgetLine("scatter", _root_mg(scatter_variance)),
        ),
        degrees_of_freedom=math.floor(prior.degrees_of_freedom) if any(x) and not is_limitless else None,
    )


def exposures_of(
    holding: Holding, prior: Prior, *, mass_sources: Mapping[str, str] | None = None
) -> tuple[Fraction, ...]:
    """Full swaps of one dentist that went in unweighed, for each of the prior's kinds, exactly.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    return tuple(_exposures(holding.tallies, prior, mass_sources or {})[0])


def _exposures(
    tallies: tuple[Tally, ...], prior: Prior, mass_sources: Mapping[str, str]
) -> tuple[list[Fraction], Counter[str]]:
    # Exact fractions: the order of tallies, and how they are pooled, must not change a single digit.
    row = {kind: place for place, kind in enumerate(prior.kinds)}
    exposures = [Fraction(0)] * len(prior.kinds)
    unknown: Counter[str] = Counter()
    for tally in tallies:
        if tally.inserts_unknown:
            unknown[tally.source] += tally.inserts_unknown
        kind = tally.source
        if kind.startswith(STREAM):
            kind = mass_sources.get(kind.removeprefix(STREAM), kind)
            if kind not in row:
                unknown[tally.source] += tally.count
                continue
        if kind not in row:
            raise UnknownKind("kind", kind)
        exposures[row[kind]] += _exposure(tally, prior.nominal_days[row[kind]], prior.grades_permille)
    return exposures, unknown


def _exposure(tally: Tally, nominal_days: int, grades_permille: Mapping[str, int]) -> Fraction:
    if not tally.grade:
        return Fraction(tally.dentists_permille, 1000)
    if tally.grade not in grades_permille:
        raise UnknownKind("condition", tally.grade)
    grade = Fraction(grades_permille[tally.grade], 1000)
    if tally.grade != Condition.NOT_LOOKED:
        return grade * Fraction(tally.dentists_permille, 1000)
    if not nominal_days:
        raise UnknownKind("days in service of", tally.source)
    return grade * Fraction(tally.dentist_days_permille, 1000 * nominal_days)


def _quadratic(x: list[float], matrix: tuple[tuple[float, ...], ...]) -> float:
    return math.fsum(
        one * other * cell for one, row in zip(x, matrix, strict=True) for other, cell in zip(x, row, strict=True)
    )


def _basis(holding: Holding) -> Basis:
    if holding.tallies:
        return "estimate"
    if holding.base_seq or holding.base_mg or holding.added_mg or holding.added_twelfths_mg2:
        return "weighed"
    return "empty"


def _root_mg(variance_mg2: float) -> int:
    root = math.sqrt(variance_mg2)
    return max(1, round(root)) if root else 0
