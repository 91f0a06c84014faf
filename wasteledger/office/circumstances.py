"""What a practice is, as far as ordinances ask: from the register, and from the monthly count of hazardous waste."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import date

from wasteledger.ledger.reader import Reader
from wasteledger.model.register import FacilityDetails, SiteDetails
from wasteledger.office.generator import categories_now
from wasteledger.office.workplace import site_details
from wasteledger.ordinance import Ordinance
from wasteledger.ordinance.circumstances import Circumstances
from wasteledger.ordinance.words import Specialty, Wastewater


def circumstances_of(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> Circumstances:
    """What is known of the site; what the register leaves blank stays unknown, and leaves no rule out.

    *rules* spares reading the ordinances in force.

    Raises:
        BadOrdinance: An ordinance in force cannot be read.
    """
    site = site_details(reader)
    return Circumstances(
        specialties=_specialties(site),
        wastewater=Wastewater(site.wastewater) if site.wastewater else None,
        is_mobile=bool(site.mobile),
        only_emergencies=bool(site.only_emergencies),
        haul_miles=_haul_miles(reader),
        categories=categories_now(reader, today, rules),
    )


def _specialties(site: SiteDetails) -> frozenset[Specialty] | None:
    if not site.specialties:
        return None
    # A word that no ordinance knows is exempt under none, and so keeps every rule.
    known: set[Specialty] = set()
    for word in site.specialties:
        with suppress(ValueError):
            known.add(Specialty(word))
    return frozenset(known) if len(known) == len(set(site.specialties)) else None


def _haul_miles(reader: Reader) -> int | None:
    """The way to the nearest facility: a longer term rests on a way that is long to every one of them."""
    ways = [one.details.haul_miles for one in reader.lines("facility") if isinstance(one.details, FacilityDetails)]
    known = [way for way in ways if way is not None]
    return min(known) if known and len(known) == len(ways) else None
