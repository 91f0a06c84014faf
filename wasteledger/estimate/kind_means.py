"""What is believed of one kind alone: the mean debris of one full swap, and the interval that its swaps share."""

from __future__ import annotations

import math

from wasteledger.estimate.containers import BudgetLine, Estimate, UnknownKind
from wasteledger.estimate.coverage import coverage_factor, lognormal_limits
from wasteledger.estimate.prior import Prior


def mean_of(prior: Prior, kind: str) -> Estimate:
    """The mean of one full swap of *kind* (of one dentist served, or one piece): always an estimate, in mg.

    The interval is that of the shared error alone, without the scatter from swap to swap.

    Raises:
        UnknownKind: The prior has no row for it.
    """
    if kind not in prior.kinds:
        raise UnknownKind("kind", kind)
    place = prior.kinds.index(kind)
    mean, variance = prior.means_mg[place], prior.covariance_mg2[place][place]
    lower, upper = lognormal_limits(mean, (variance,), coverage_factor(prior.degrees_of_freedom))
    value_mg, lower_mg, upper_mg = round(mean), math.floor(lower), math.ceil(upper)
    u_mg = round(math.sqrt(variance))
    return Estimate(
        value_mg=value_mg,
        standard_uncertainty_mg=u_mg,
        lower_mg=min(value_mg, lower_mg),
        upper_mg=max(value_mg, upper_mg),
        expanded_mg=(upper_mg - lower_mg + 1) // 2,
        weighed_mg=0,
        estimated_mg=value_mg,
        inserts_mg=0,
        basis="estimate",
        budget=(BudgetLine("shared", u_mg),),
        degrees_of_freedom=None if math.isinf(prior.degrees_of_freedom) else math.floor(prior.degrees_of_freedom),
    )


def held_at_zero(prior: Prior) -> tuple[str, ...]:
    """The kinds whose mean weighings pulled below zero, where it is held."""
    return tuple(kind for kind, mean in zip(prior.kinds, prior.means_mg, strict=True) if mean == 0)
