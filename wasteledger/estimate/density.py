"""Density of a mixture, from what it is made of."""

from __future__ import annotations

import math
from collections.abc import Iterable

from wasteledger.errors import NotUnderstood


class BadMixture(NotUnderstood):
    """A part with no mass or no density, or a mixture of nothing."""

    code = "bad-mixture"


def mixture_density(parts: Iterable[tuple[float, float]]) -> float:
    """The density of parts whose volumes add up, in the unit of theirs.

    Args:
        parts: Mass (or share of the mass) and density of each.

    Debris that is half water, a quarter amalgam and a quarter other solids, in mg/mL:

    >>> round(mixture_density([(0.5, 1000), (0.25, 11_500), (0.25, 2000)]))
    1546

    Raises:
        BadMixture: No mass at all, a mass below 0, or a density that is not above 0.
    """
    known = tuple(parts)
    for mass, density in known:
        if not (math.isfinite(mass) and mass >= 0 and math.isfinite(density) and density > 0):
            raise BadMixture(
                f"A part of mass {mass:g} and density {density:g} cannot be mixed in.",
                hint="Masses are 0 or more, densities above 0.",
            )
    total = math.fsum(mass for mass, _ in known)
    if total <= 0:
        raise BadMixture("A mixture of nothing has no density.", hint="Give at least one part with a mass above 0.")
    return total / math.fsum(mass / density for mass, density in known)
