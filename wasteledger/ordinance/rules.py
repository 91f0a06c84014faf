"""What an ordinance file says, as frozen values: dated rules, undated practices, limits, words and overrides.

Every provision carries where it was read, when, and whether that reading was at the source itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from wasteledger.errors import Unknown
from wasteledger.ordinance.days import Interval
from wasteledger.ordinance.words import (
    ContainerNeed,
    Event,
    Force,
    Kind,
    LabelElement,
    Lasting,
    Level,
    MakerTask,
    Record,
    Regime,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
    Specialty,
    Together,
    Years,
)


@dataclass(frozen=True, slots=True)
class After:
    """Due an interval after the event."""

    interval: Interval


@dataclass(frozen=True, slots=True)
class ByManual:
    """Due at the interval that the separator's operating manual sets, as entered in the register."""

    task: MakerTask


@dataclass(frozen=True, slots=True)
class OnDay:
    """Due on a fixed day, whatever the day of the event."""

    on: date


@dataclass(frozen=True, slots=True)
class WhileLasting:
    """Not due on a day: kept as long as something lasts."""

    lasting: Lasting


@dataclass(frozen=True, slots=True)
class EachYear:
    """Due on the same day of each year, or of each even or odd one.

    Attributes:
        month: 1 to 12.
        day: A day that every year has.
        years: In which years it is due.
        opens: Month and day from which a filing counts for it; None where the ordinance names none. One that is later
            in the calendar than the due day lies in the year before.
    """

    month: int
    day: int
    years: Years = Years.ALL
    opens: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class EveryYears:
    """Due on a first day, and then every so many years."""

    first_on: date
    every: int


@dataclass(frozen=True, slots=True)
class AfterQuarter:
    """Due on the last day of the month that lies so many months after the end of the event's calendar quarter."""

    months: int


# A further form is one more class here, one more in `dues.py` and one more case in `due.py`; nothing else asks.
Due = After | ByManual | OnDay | WhileLasting | EachYear | EveryYears | AfterQuarter


@dataclass(frozen=True, slots=True, kw_only=True)
class Provision:
    """What all provisions have in common.

    Attributes:
        id: Unique in its ordinance; shown beside every day and warning that rests on it.
        asks: What the rule asks, in plain words.
        citation: Clause, as a reader would look it up.
        source: Where the clause was read, which may be a copy.
        read_on: Month (``2026-11``) or day of that reading.
        confirmed: Whether it was read, at the source or in a copy; False when it comes from memory or hearsay.
        confirmed_note: How sure that is, and what is missing; never empty when not confirmed.
        also_cited_as: Dead or later numbers of the same clause that papers still carry.
        in_force_from: First day on which the provision stands; None where it always did.
        in_force_until: Last day on which it stands; None where no end is set.
        override: The nearer ordinance's word that was laid over this one; None where there is none.
    """

    id: str
    title: str
    asks: str
    citation: str
    source: str
    read_on: str
    confirmed: bool
    confirmed_note: str = ""
    also_cited_as: tuple[str, ...] = ()
    force: Force = Force.LAW
    note: str = ""
    in_force_from: date | None = None
    in_force_until: date | None = None
    override: AppliedOverride | None = None

    @property
    def is_set_aside(self) -> bool:
        """Whether a nearer ordinance says that this one is not to be followed here."""
        return self.override is not None and self.override.sets_aside

    def stands_on(self, day: date) -> bool:
        """Whether the provision is in force on that day; both ends of its span belong to it."""
        begun = self.in_force_from is None or self.in_force_from <= day
        return begun and (self.in_force_until is None or day <= self.in_force_until)

    @property
    def standing_of_source(self) -> str:
        """How sure the wording is, for every place that shows the provision."""
        if not self.confirmed:
            return f"NOT CONFIRMED: {self.confirmed_note}"
        return self.confirmed_note or f"Read at its source, {self.read_on}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule(Provision):
    """A duty with a day.

    Attributes:
        duty: Word shared by rules, of this or other ordinances, that ask for the same thing.
        kind: A deadline (the earliest binds) or a retention (the longest binds).
        triggers: Events that start the clock.
        due: How the day follows from the event.
        recurs: The duty comes back: only the latest of its triggers for a subject counts.
        only_if_before: The event starts the clock only when it fell before this day.
        or_when: A second event that makes the duty due on its own day, if that comes sooner.
        records: Classes of records that a retention speaks of; empty for a deadline.
        only_for: Generator categories of the same ordinance that the rule speaks to; empty for everybody.
        haul_over_miles: It holds only where the facility lies farther away than so many miles.
        haul_up_to_miles: It holds only where the facility lies so many miles away or less, or at no known distance.
    """

    duty: str
    kind: Kind
    triggers: tuple[Event, ...]
    due: Due
    recurs: bool = False
    only_if_before: date | None = None
    or_when: Event | None = None
    records: tuple[Record, ...] = ()
    only_for: tuple[str, ...] = ()
    haul_over_miles: int | None = None
    haul_up_to_miles: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice(Provision):
    """A duty without a day: something always done, or never."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanerLimit(Provision):
    """What a line or waterline cleaner may be. The pH band is in tenths and both ends belong to it."""

    ph_low_tenths: int | None = None
    ph_high_tenths: int | None = None
    bans_oxidisers: bool = False
    banned_chemistry: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWords(Provision):
    """What a container's label carries: fixed lines, and elements to be filled in. No streams means every stream."""

    lines: tuple[str, ...] = ()
    elements: tuple[LabelElement, ...] = ()
    streams: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerNeeds(Provision):
    """What a container must be, and what is never put into it. No streams means every stream."""

    needs: tuple[ContainerNeed, ...] = ()
    never_add: tuple[str, ...] = ()
    streams: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SharingRule(Provision):
    """Whether two streams may lie in one container."""

    streams: tuple[str, str]
    together: Together


@dataclass(frozen=True, slots=True, kw_only=True)
class ShipmentPaper(Provision):
    """What goes with a pickup: a document, a weight on record, and the names that the record gives.

    Attributes:
        document: None where the rule does not say which; `ShippingPaper.NONE` where it says that none is wanted.
        weight: Whether the weight must be recorded.
        names: What the record must name.
    """

    document: ShippingPaper | None = None
    weight: bool = False
    names: tuple[ShipmentName, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Category(Provision):
    """A class of waste generators by what arises in a calendar month. All amounts in kilograms, exact.

    Attributes:
        name: The authority's own name for it; the same name means different things in different places.
        rank: 1 for the least waste, rising.
        month_over_kg: More than this; the bound itself is not included.
        month_from_kg: This or more. A category has one of the two, or, the lowest, none.
        month_up_to_kg: This or less.
        month_below_kg: Less than this. A category has at most one of the two.
        stock_below_kg: Less than this lies on site; from it on the clock of the stock runs.
        stock_up_to_kg: Never more than this lies on site.
        acute_over_kg: More acute waste than this in a month counts as the highest category.
    """

    name: str
    rank: int
    month_over_kg: Decimal | None = None
    month_from_kg: Decimal | None = None
    month_up_to_kg: Decimal | None = None
    month_below_kg: Decimal | None = None
    stock_below_kg: Decimal | None = None
    stock_up_to_kg: Decimal | None = None
    acute_over_kg: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncounted(Provision):
    """Streams that are left out of the month's count."""

    streams: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContents(Provision):
    """What a report to the authority says, and whose duty it answers."""

    report: ReportKind
    duty: str
    fields: tuple[ReportField, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalMinimum(Provision):
    """The least share of amalgam a separator must hold back, in percent, for units installed in a span of days."""

    at_least_percent: Decimal
    installed_from: date | None = None
    installed_before: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteCode(Provision):
    """A code under which papers name the waste."""

    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FillMarks(Provision):
    """Thousandths of the fill line at which a pickup is planned, and at which a container is closed."""

    plan_at_permille: int
    close_at_permille: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope(Provision):
    """Whom the ordinance speaks to.

    Attributes:
        exempt_specialties: Left out when nothing else is practised.
        covers_septic: Whether practices without a public sewer are in.
        covers_mobile_units: Whether mobile units are in.
        emergency_leaves: Duties that stay where amalgam is removed in emergencies only; empty: all of them.
    """

    exempt_specialties: tuple[Specialty, ...] = ()
    covers_septic: bool
    covers_mobile_units: bool
    emergency_leaves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A nearer ordinance's word on a provision of a wider one. It wins, and it is shown wherever the provision is.

    Attributes:
        ordinance: Id of the ordinance that is laid over.
        provision: Id of the provision in it.
        reason: Why, in the authority's or the office's own words.
        confirmed: Whether that word was read, and not only heard; if not, the note says what is missing.
        asks: What is asked instead; empty to leave it.
        due: How the day is counted instead; None to leave it.
        together: Whether the two streams of a sharing rule may lie together instead; None to leave it.
        sets_aside: Whether the provision is not followed here at all.
        line: Where in its file the override stands.
    """

    ordinance: str
    provision: str
    reason: str
    citation: str
    confirmed: bool
    confirmed_note: str = ""
    asks: str = ""
    due: Due | None = None
    together: Together | None = None
    sets_aside: bool = False
    line: int = 0


@dataclass(frozen=True, slots=True)
class AppliedOverride:
    """An override as it was laid over a provision, and the provision as it reads without it."""

    by_id: str
    by_title: str
    reason: str
    citation: str
    confirmed: bool
    confirmed_note: str
    sets_aside: bool
    original: Provision

    def __str__(self) -> str:
        what = "Set aside" if self.sets_aside else "Changed"
        doubt = "" if self.confirmed else f" NOT CONFIRMED: {self.confirmed_note}"
        return f"{what} by {self.by_title} ({self.citation}): {self.reason}{doubt}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordinance:
    """One ordinance file. The local authority's own text prevails over every one of them.

    Attributes:
        version: The authority's own, or the day of the text that was read.
        regime: Under which body of rules it puts amalgam waste; None where it does not say.
        digest: SHA-256 over the text in UTF-8 with line ends as LF, in hexadecimal; what a register keeps.
        file: Name of the file, for messages.
    """

    id: str
    title: str
    authority: str
    level: Level
    version: str
    dated_on: date
    source: str
    notes: str = ""
    regime: Regime | None = None
    scope: Scope | None = None
    rules: tuple[Rule, ...] = ()
    practices: tuple[Practice, ...] = ()
    cleaners: tuple[CleanerLimit, ...] = ()
    labels: tuple[LabelWords, ...] = ()
    containers: tuple[ContainerNeeds, ...] = ()
    sharings: tuple[SharingRule, ...] = ()
    shipments: tuple[ShipmentPaper, ...] = ()
    categories: tuple[Category, ...] = ()
    uncounted: tuple[Uncounted, ...] = ()
    reports: tuple[ReportContents, ...] = ()
    removals: tuple[RemovalMinimum, ...] = ()
    waste_codes: tuple[WasteCode, ...] = ()
    fill_marks: tuple[FillMarks, ...] = ()
    overrides: tuple[Override, ...] = ()
    digest: str = ""
    file: str = ""

    @property
    def provisions(self) -> tuple[Provision, ...]:
        """Everything with an id."""
        scope = (self.scope,) if self.scope else ()
        return (
            *scope,
            *self.rules,
            *self.practices,
            *self.cleaners,
            *self.labels,
            *self.containers,
            *self.sharings,
            *self.shipments,
            *self.categories,
            *self.uncounted,
            *self.reports,
            *self.removals,
            *self.waste_codes,
            *self.fill_marks,
        )

    def get(self, provision: str) -> Provision:
        """The provision with that id.

        Raises:
            Unknown: There is none.
        """
        for candidate in self.provisions:
            if candidate.id == provision:
                return candidate
        known = ", ".join(candidate.id for candidate in self.provisions) or "nothing"
        raise Unknown(f"{self.title} has no provision “{provision}”.", hint=f"It has {known}.")
