"""What a practice is, as far as ordinances ask: from the register, and from the monthly count of hazardous waste."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date

from wasteledger.ledger.reader import Reader
from wasteledger.model.register import FacilityDetails, SiteDetails
from wasteledger.office.generator import standings_now
from wasteledger.office.other_waste import Month, other_waste_told, waste_of
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.waste_counting import Counting
from wasteledger.office.workplace import site_details
from wasteledger.ordinance import Event, Ordinance, Trigger
from wasteledger.ordinance.circumstances import Circumstances
from wasteledger.ordinance.rules import Category
from wasteledger.ordinance.words import Specialty, Wastewater

_HALF_YEAR = 6  # months: no small quantity generator may hold waste for longer (40 CFR 262.16(b), 180 days)


def circumstances_of(
    reader: Reader, today: date, rules: Sequence[Ordinance] | None = None, deeds: Iterable[Trigger] = ()
) -> Circumstances:
    """What is known of the site; what the register leaves blank stays unknown, and leaves no rule out.

    A generator category counts as known where other waste was typed in, be it none, for this month or for the last:
    amalgam alone says little of it.

    Args:
        reader: The site.
        today: The site's local date.
        rules: Spares reading the ordinances in force.
        deeds: Events that are judged by the category of their own month.

    Raises:
        BadOrdinance: An ordinance in force cannot be read.
    """
    site = site_details(reader)
    known = Circumstances(
        specialties=_specialties(site),
        wastewater=Wastewater(site.wastewater) if site.wastewater else None,
        is_mobile=bool(site.mobile),
        only_emergencies=bool(site.only_emergencies),
        haul_miles=_haul_miles(reader),
    )
    found = registered_ordinances(reader) if rules is None else tuple(rules)
    told = {Month.read(waste_of(fact).month) for fact in other_waste_told(reader)}
    if not told or not any(ordinance.categories for ordinance in found):
        return known
    running = Month.of(today)
    if told & {running, running.plus(-1)}:
        now = standings_now(reader, today, found)
        known = replace(
            known,
            categories={ordinance: one.name for ordinance, one in now.items()},
            since={ordinance: one.since for ordinance, one in now.items() if not one.may_be_older},
            unsettled=frozenset(ordinance for ordinance, one in now.items() if not one.is_settled),
            may_be={ordinance: one.may_be for ordinance, one in now.items() if not one.is_settled},
        )
    return replace(known, months=_months(Counting(reader, today, found), _months_of(deeds, found) & told))


def _months_of(deeds: Iterable[Trigger], rules: Sequence[Ordinance]) -> set[Month]:
    """The months whose category some rule asks for."""
    asked = [rule for ordinance in rules for rule in ordinance.rules if rule.only_for]
    records = {record for rule in asked for record in rule.records}
    return {
        Month.of(deed.on)
        for deed in deeds
        if deed.event is Event.PICKUP_RELEASED or (deed.event is Event.RECORD_MADE and deed.record in records)
    }


def _months(counting: Counting, wanted: set[Month]) -> dict[str, dict[date, str]]:
    found: dict[str, dict[date, str]] = {}
    for month in sorted(wanted):
        if month > Month.of(counting.today):
            continue
        highest: dict[str, Category] = {}
        for counted in counting.months(month.plus(1 - _HALF_YEAR), month):
            for one in counted.categories:
                before = highest.get(one.ordinance)
                if one.highest is not None and (before is None or one.highest.rank > before.rank):
                    highest[one.ordinance] = one.highest
        for ordinance, category in highest.items():
            found.setdefault(ordinance, {})[month.first_on] = category.name
    return found


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
