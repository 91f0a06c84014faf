"""What every provision of an ordinance carries, and how a nearer ordinance's word is laid over it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from wasteledger.ordinance.due_forms import Due
from wasteledger.ordinance.words import Force, Together


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
        only_for: Generator categories of the same ordinance that the provision speaks to; empty for everybody.
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
    only_for: tuple[str, ...] = ()
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
        """How sure the wording is, for every place that shows the provision.

        Where a nearer word replaced it, this still speaks of the text that stood before: the override tells how sure
        the new one is.
        """
        changed = "" if self.override is None or self.override.sets_aside else "Of the text that was changed: "
        if not self.confirmed:
            return f"NOT CONFIRMED: {changed}{self.confirmed_note}"
        return f"{changed}{self.confirmed_note or f'Read in the source that its file names, {self.read_on}.'}"


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
    together: Together | None = None

    def __str__(self) -> str:
        what = "Set aside" if self.sets_aside else "Changed"
        doubt = "" if self.confirmed else f" NOT CONFIRMED: {self.confirmed_note}"
        return f"{what} by {self.by_title} ({self.citation}): {self.reason}{doubt}"
