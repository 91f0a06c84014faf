"""When a separator's retaining unit will be full, by the levels read since its exchange."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from wasteledger.forecast.unit_level import LevelRead, days_of, unit_forecast
from wasteledger.forecast.working_time import NeverAtWork, WorkingTime
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import SeparatorInspection
from wasteledger.model.register import SeparatorDetails, SiteDetails
from wasteledger.model.standing import SeparatorStanding
from wasteledger.office.separator_history import facts_of, local_day, new_since
from wasteledger.office.words import count, short_day
from wasteledger.office.workplace import site_details, zone_of
from wasteledger.ordinance import Event, Interval, Manual, Trigger, Unit


@dataclass(frozen=True, slots=True)
class UnitOutlook:
    """When a retaining unit will be full, by the levels read since its exchange. An estimate, never a reading.

    Attributes:
        separator: Which.
        exchanged_on: When the unit was new.
        level_permille: The last level read.
        read_on: When.
        seqs: The entries of those readings.
        full_on: The day by which it is as likely as not full; None where that is more than ten years off.
        early_on: The day by which it is full with the chance from which the site wants to be warned.
        late_on: The day by which it is full with a chance of 90 %.
        early_chance_permille: That chance, in thousandths.
    """

    separator: str
    exchanged_on: date
    level_permille: int
    read_on: date
    seqs: tuple[int, ...]
    full_on: date | None
    early_on: date | None
    late_on: date | None
    early_chance_permille: int

    @property
    def says(self) -> str:
        """The days in words, marked as an estimate."""
        days = [
            f"{chance} % chance by {short_day(on)}"
            for chance, on in (
                (f"{self.early_chance_permille / 10:g}", self.early_on),
                ("50", self.full_on),
                ("90", self.late_on),
            )
            if on is not None
        ]
        read = f"forecast from {count(len(self.seqs), 'level')} read since the exchange"
        return f"{read}: full with a {', '.join(days)}" if days else f"{read}: not full within ten years"


def full_forecast(reader: Reader, separator: SeparatorStanding, today: date) -> Trigger | None:
    """The day on which the retaining unit is as likely as not full, as an event that is forecast; None without one.

    None too where the unit was read as full: that is a fact, and no forecast.
    """
    outlook = unit_outlook(reader, separator, today)
    if outlook is None or outlook.full_on is None:
        return None
    return Trigger(
        Event.RETAINING_UNIT_FULL,
        outlook.full_on,
        f"separator {separator.separator}",
        manual=manual_of(separator.details),
        is_forecast=True,
    )


def unit_outlook(reader: Reader, separator: SeparatorStanding, today: date) -> UnitOutlook | None:
    """When the unit will be full; None where no level tells.

    Levels count from the exchange, when the unit was empty. A unit of which no exchange is recorded counts only from
    an installation that this ledger saw: what an older one held at first is not known, and taking it as empty would
    foretell too late.
    """
    zone, site = zone_of(reader), site_details(reader)
    since = new_since(separator, zone)
    if since is None:
        return None
    read = [
        (fact, fact.body.level_permille)
        for fact in facts_of(reader, separator.separator, SeparatorInspection)
        if isinstance(fact.body, SeparatorInspection)
        and fact.body.level_permille is not None
        and (separator.last_unit_at is None or fact.happened_at >= separator.last_unit_at)
        and since <= local_day(fact, zone) <= today
    ]
    worked = WorkingTime(since, lambda day: _works_on(site, day))
    chance = site.warn_chance_permille
    try:
        levels = [LevelRead(worked.working_days_until(local_day(fact, zone)), level) for fact, level in read]
        forecast = unit_forecast(levels)
        if forecast is None:
            return None
        early_on, full_on, late_on = days_of(
            forecast, worked.nth_working_day, (min(0.5, max(0.001, chance / 1000)), 0.5, 0.9)
        )
    except NeverAtWork:
        # A practice that has closed down fills nothing, and its ledger can still be read.
        return None
    last, level = read[-1]
    return UnitOutlook(
        separator=separator.separator,
        exchanged_on=since,
        level_permille=level,
        read_on=local_day(last, zone),
        seqs=tuple(fact.seq for fact, _ in read),
        full_on=full_on,
        early_on=early_on,
        late_on=late_on,
        early_chance_permille=min(500, max(1, chance)),
    )


def manual_of(details: SeparatorDetails) -> Manual:
    """The two intervals of a separator's operating manual, as the register has them."""
    return Manual(
        Interval(details.inspect_every_days, Unit.DAYS) if details.inspect_every_days else None,
        Interval(details.replace_unit_every_months, Unit.MONTHS) if details.replace_unit_every_months else None,
    )


def _works_on(site: SiteDetails, day: date) -> bool:
    return day.weekday() in site.working_days and not any(first <= day <= last for first, last in site.closures)
