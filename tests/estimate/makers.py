"""Priors and holdings for the tests of this folder."""

from __future__ import annotations

import math

from wasteledger.estimate.prior import Prior, read_defaults
from wasteledger.model.containers import Holding, Tally
from wasteledger.resources import find

GRADES = {"clean": 100, "debris": 500, "clogged": 1000, "damaged": 1000, "not_looked": 1000}

SHIPPED = read_defaults(find("estimate/defaults.toml").read_bytes()).prior


def a_prior(*, shared_cv: float = 0.3, between_kinds: float = 0.5, degrees_of_freedom: float = math.inf) -> Prior:
    """Two kinds: traps of 3 g a week, filters of 15 g in 30 days; scatter as large as the mean."""
    made = Prior.sharing(
        ("high_volume", "line_filter"),
        (3000.0, 15000.0),
        (3000.0, 15000.0),
        (7, 30),
        GRADES,
        shared_cv=shared_cv,
        between_kinds=between_kinds,
    )
    return Prior(
        made.kinds,
        made.means_mg,
        made.covariance_mg2,
        made.scatter_sd_mg,
        made.nominal_days,
        made.grades_permille,
        degrees_of_freedom,
    )


def swaps(count: int, *, kind: str = "high_volume", grade: str = "clogged", days: int = 7, **more: int) -> Tally:
    """A tally of *count* swaps that each served one dentist for *days*."""
    return Tally(
        source=kind,
        grade=grade,
        count=count,
        dentists_permille=1000 * count,
        dentist_days_permille=1000 * count * days,
        **more,
    )


def pieces(stream: str, count: int) -> Tally:
    """*count* pieces of a stream, put in by count."""
    return Tally(source=f"stream:{stream}", grade="", count=count, dentists_permille=1000 * count)


def a_holding(*tallies: Tally, base_mg: int = 0, base_twelfths_mg2: int = 0, base_seq: int = 0) -> Holding:
    """A holding with these tallies, pooled as the ledger pools them."""
    holding = Holding(base_mg=base_mg, base_twelfths_mg2=base_twelfths_mg2, base_seq=base_seq)
    for tally in tallies:
        holding = holding.with_tally(tally)
    return holding
