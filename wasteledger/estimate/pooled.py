"""What several containers hold, as if it lay in one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import chain

from wasteledger.model.containers import Holding


def as_one(holdings: Sequence[Holding]) -> Holding:
    """The holdings together, for one estimate of all of it.

    Traps of a kind share the error of their mean mass, and scatter from swap to swap averages out; both follow from
    putting the tallies together. What a scale's limits leave open is wrong the same way in every container that stood
    on it, so there standard uncertainties are added, not their squares (JCGM 100:2008, 5.2.2, note 1: fully correlated
    inputs). Variances are carried up to whole twelfths of mg².
    """
    if len(holdings) == 1:
        return holdings[0]
    one = Holding(
        base_mg=sum(held.base_mg for held in holdings),
        base_seq=max((held.base_seq for held in holdings), default=0),
        added_mg=sum(held.added_mg for held in holdings),
        added_twelfths_mg2=_correlated(held.base_twelfths_mg2 + held.added_twelfths_mg2 for held in holdings),
    )
    for tally in chain.from_iterable(held.tallies for held in holdings):
        one = one.with_tally(tally)
    return one


def _correlated(twelfths_mg2: Iterable[int]) -> int:
    """The variance of a sum whose standard uncertainties add up."""
    some = [one for one in twelfths_mg2 if one]
    if len(some) < 2:
        return sum(some)
    return math.ceil(math.fsum(map(math.sqrt, some)) ** 2)
