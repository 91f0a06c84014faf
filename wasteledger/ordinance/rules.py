"""What an ordinance file says, as frozen values: dated rules, undated practices, limits, words and overrides.

Every provision carries where it was read, when, and whether that reading was at the source itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from wasteledger.errors import Unknown
from wasteledger.ordinance.due_forms import (
    After,
    AfterQuarter,
    ByManual,
    Due,
    EachYear,
    EveryYears,
    OnDay,
    WhileLasting,
)
from wasteledger.ordinance.provision import AppliedOverride, Override, Provision
from wasteledger.ordinance.words import (
    ContainerNeed,
    Event,
    Kind,
    LabelElement,
    Level,
    Record,
    Regime,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
    ShownBy,
    Specialty,
    Together,
)

__all__ = [
    "After",
    "AfterQuarter",
    "AppliedOverride",
    "ByManual",
    "Category",
    "CleanerLimit",
    "ContainerNeeds",
    "Due",
    "EachYear",
    "EveryYears",
    "FillMarks",
    "LabelWords",
    "OnDay",
    "Ordinance",
    "Override",
    "Practice",
    "Provision",
    "RemovalMinimum",
    "ReportContents",
    "Rule",
    "Scope",
    "SharingRule",
    "ShipmentPaper",
    "Uncounted",
    "WasteCode",
    "WhileLasting",
]


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
    haul_over_miles: int | None = None
    haul_up_to_miles: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice(Provision):
    """A duty without a day: something always done, or never.

    Attributes:
        forbids: It says what is never to be done.
        shown_by: Statements, trainings or papers that show that it is done; empty where the file names none.
    """

    forbids: bool = False
    shown_by: tuple[ShownBy, ...] = ()


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
        covers_septic: Whether practices without a public sewer are in; None where that was not read.
        covers_mobile_units: Whether mobile units are in; None where that was not read.
        emergency_leaves: Duties that stay where amalgam is removed in emergencies only; empty: all of them.
    """

    exempt_specialties: tuple[Specialty, ...] = ()
    covers_septic: bool | None = None
    covers_mobile_units: bool | None = None
    emergency_leaves: tuple[str, ...] = ()


PROVISIONS = (
    "rules",
    "practices",
    "cleaners",
    "labels",
    "containers",
    "sharings",
    "shipments",
    "categories",
    "uncounted",
    "reports",
    "removals",
    "waste_codes",
    "fill_marks",
)
"""The parts of an ordinance that hold provisions, in the order in which they are shown."""


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
        return (*scope, *(one for kind in PROVISIONS for one in getattr(self, kind)))

    def changed(self, change: Callable[[Provision], Provision | None]) -> Ordinance:
        """The ordinance with each provision changed, or left out where *change* gives None; the scope always stays."""
        kept: dict[str, Any] = {
            kind: tuple(new for old in getattr(self, kind) if (new := change(old)) is not None) for kind in PROVISIONS
        }
        scope = change(self.scope) if self.scope else None
        return replace(self, scope=scope if isinstance(scope, Scope) else self.scope, **kept)

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
