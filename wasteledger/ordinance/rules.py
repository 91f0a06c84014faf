"""What an ordinance file says, as frozen values: dated rules, undated practices, limits, words and overrides.

Every provision carries where it was read, when, and whether that reading was at the source itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from wasteledger.errors import Unknown
from wasteledger.ordinance.days import Interval
from wasteledger.ordinance.words import Event, Force, Kind, Lasting, Level, MakerTask, Record, Specialty


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


# Windows and even or odd years become further classes here, with one more form in the reader and one more case in
# `due.py`; nothing else asks which form a rule has.
Due = After | ByManual | OnDay | WhileLasting


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
    override: AppliedOverride | None = None

    @property
    def is_set_aside(self) -> bool:
        """Whether a nearer ordinance says that this one is not to be followed here."""
        return self.override is not None and self.override.sets_aside

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
    """

    duty: str
    kind: Kind
    triggers: tuple[Event, ...]
    due: Due
    recurs: bool = False
    only_if_before: date | None = None
    or_when: Event | None = None
    records: tuple[Record, ...] = ()


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
    """Lines of words that a container's label carries. No streams means every stream."""

    lines: tuple[str, ...]
    streams: tuple[str, ...] = ()


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
    """Whom the ordinance speaks to."""

    exempt_specialties: tuple[Specialty, ...] = ()
    covers_septic: bool
    covers_mobile_units: bool


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
    scope: Scope | None = None
    rules: tuple[Rule, ...] = ()
    practices: tuple[Practice, ...] = ()
    cleaners: tuple[CleanerLimit, ...] = ()
    labels: tuple[LabelWords, ...] = ()
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
