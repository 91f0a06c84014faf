"""What was weighed between two weighings, and what the counts let expect of it as all other weighings teach them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date, datetime, tzinfo

from wasteledger.estimate.containers import exposures_of
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.learning import teach
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.weighed import WeighingCheck
from wasteledger.ledger.reader import Reader
from wasteledger.office.learning import site_increments
from wasteledger.office.received import all_comparisons
from wasteledger.office.starting_values import mass_sources, shipped_prior

_COMPARED = ("container", "receipt")

MOST_TAUGHT = 400
"""So many weighings before and beside the one that is judged teach what to expect of it; the newest are taken."""


def weighing_checks(reader: Reader, zone: tzinfo, first_on: date, last_on: date) -> tuple[WeighingCheck, ...]:
    """Every increment that was weighed on a day of the period, with its prediction from counts; oldest first.

    Each is predicted from the published values and every other weighing up to the last day, never from itself. A trap
    or piece that was weighed by itself is not judged (one alone may hold anything), but it teaches. A received weight
    that somebody has explained is not judged either.
    """
    increments = [one for one in site_increments(reader) if _day(one.ended_at, zone) <= last_on]
    judged = [one for one in increments if one.weighed in _COMPARED and first_on <= _day(one.ended_at, zone)]
    if not judged:
        return ()
    prior, sources = shipped_prior(), mass_sources(reader)
    explained = {one.receipt_seq for one in all_comparisons(reader) if one.explained_seq}
    used = teach(prior, increments, mass_sources=sources).used[-MOST_TAUGHT:]
    found: list[WeighingCheck] = []
    for one in judged:
        if one in used and one.seq not in explained:
            taught = teach(prior, [other for other in used if other != one], mass_sources=sources).prior
            found.append(_check(one, taught, sources, zone))
    return tuple(found)


def _check(one: Increment, prior: Prior, sources: Mapping[str, str], zone: tzinfo) -> WeighingCheck:
    exposures = [float(exposure) for exposure in exposures_of(one.holding, prior, mass_sources=sources)]
    shared = math.fsum(
        exposure * other * cell
        for exposure, row in zip(exposures, prior.covariance_mg2, strict=True)
        for other, cell in zip(exposures, row, strict=True)
    )
    scatter = math.fsum(exposure * sd**2 for exposure, sd in zip(exposures, prior.scatter_sd_mg, strict=True))
    return WeighingCheck(
        container=one.ref,
        from_on=_day(one.began_at, zone),
        on=_day(one.ended_at, zone),
        weighed_mg=float(one.net_mg),
        weighed_sd_mg=math.sqrt(one.variance_mg2),
        predicted_mg=_dot(exposures, prior.means_mg),
        predicted_sd_mg=math.sqrt(max(0.0, shared) + scatter),
        degrees_of_freedom=prior.degrees_of_freedom,
        seq=one.seq,
    )


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))


def _day(instant: datetime, zone: tzinfo) -> date:
    return instant.astimezone(zone).date()
