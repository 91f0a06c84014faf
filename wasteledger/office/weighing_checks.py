"""What was weighed between two weighings, and what the counts let expect of it as all other weighings teach them."""

from __future__ import annotations

import math
from datetime import date, datetime, tzinfo

from wasteledger.estimate.learning import foretold, teach
from wasteledger.estimate.weighed import WeighingCheck
from wasteledger.ledger.reader import Reader
from wasteledger.office.learning import site_increments
from wasteledger.office.starting_values import mass_sources, shipped_prior

_COMPARED = ("container", "receipt")

MOST_TAUGHT = 400
"""So many weighings before and beside the one that is judged teach what to expect of it; the newest are taken."""


def weighing_checks(reader: Reader, zone: tzinfo, first_on: date, last_on: date) -> tuple[WeighingCheck, ...]:
    """Every increment that was weighed on a day of the period, with its prediction from counts; oldest first.

    The mean of each prediction comes from the published values and every other weighing up to the last day, never from
    itself; its scatter is the wider of what the others teach and of what goes with the means that all together teach. A
    trap or piece that was weighed by itself is not judged (one alone may hold anything), but it teaches. A received
    weight that somebody has explained is no increment: it is not judged, nor does it teach what to expect of others.
    """
    increments = [one for one in site_increments(reader) if _day(one.ended_at, zone) <= last_on]
    judged = [one for one in increments if one.weighed in _COMPARED and first_on <= _day(one.ended_at, zone)]
    if not judged:
        return ()
    prior, sources = shipped_prior(), mass_sources(reader)
    used = teach(prior, increments, mass_sources=sources).used[-MOST_TAUGHT:]
    found: list[WeighingCheck] = []
    for one in judged:
        if one in used:
            mean_mg, sd_mg, freedom = foretold(one, used, prior, mass_sources=sources)
            found.append(
                WeighingCheck(
                    container=one.ref,
                    from_on=_day(one.began_at, zone),
                    on=_day(one.ended_at, zone),
                    weighed_mg=float(one.net_mg),
                    weighed_sd_mg=math.sqrt(one.variance_mg2),
                    predicted_mg=mean_mg,
                    predicted_sd_mg=sd_mg,
                    degrees_of_freedom=freedom,
                    seq=one.seq,
                )
            )
    return tuple(found)


def _day(instant: datetime, zone: tzinfo) -> date:
    return instant.astimezone(zone).date()
