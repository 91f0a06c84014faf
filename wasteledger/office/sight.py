"""What is looked at when a provision is held against the journal, and the form of what is found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.values import Body
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.describing import describe
from wasteledger.office.provision_words import spelt
from wasteledger.office.record_triggers import record_triggers_of
from wasteledger.office.triggers import triggers_of
from wasteledger.office.workplace import zone_of
from wasteledger.ordinance import Ordinance, Provision, Rule, Trigger
from wasteledger.ordinance.circumstances import Circumstances, condition_of, left_out
from wasteledger.ordinance.rules import Scope

_BEGINNING = datetime(1, 1, 1, tzinfo=UTC)
_END = datetime(9999, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing that the journal shows, or lacks, in words, and the entries that it rests on."""

    says: str
    seqs: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Sight:
    """What is looked at: an open ledger, its local date and zone, what is in force, and which clocks run.

    Attributes:
        rules: The ordinances in force, overrides laid over them.
        started: Every event whose clock runs.
        records: Every record that may be kept for a term.
    """

    reader: Reader
    zone: tzinfo
    today: date
    rules: tuple[Ordinance, ...]
    started: tuple[Trigger, ...]
    records: tuple[Trigger, ...]
    circumstances: Circumstances

    def facts(self, *wanted: type[Body]) -> tuple[Fact, ...]:
        """The effective facts of some kinds, oldest first."""
        return self.reader.facts_between(_BEGINNING, _END, tuple(kind.KIND for kind in wanted))

    def day_of(self, fact: Fact) -> str:
        """The local day of a fact, spelt."""
        return spelt(fact.happened_at.astimezone(self.zone).date())

    def told(self, fact: Fact) -> Evidence:
        """A fact in words, with its local day and its entry."""
        return Evidence(f"{self.day_of(fact)}: {describe(fact.body, self.zone)}", (fact.seq,))


Findings = tuple[list[Evidence], list[Evidence]]
"""What the journal shows, and what is missing."""


def sight_of(reader: Reader, today: date, rules: tuple[Ordinance, ...]) -> Sight:
    """What there is to be looked at; *rules* are in force, overrides laid over them."""
    zone = zone_of(reader)
    return Sight(
        reader,
        zone,
        today,
        rules,
        triggers_of(reader, zone),
        record_triggers_of(reader, zone),
        circumstances_of(reader, today),
    )


def not_asked(sight: Sight, ordinance: Ordinance, provision: Provision) -> Iterator[Evidence]:
    """Why a provision in force asks nothing of this practice."""
    if provision.is_set_aside:
        yield Evidence(f"It is not followed here. {provision.override}")
        return
    if isinstance(provision, Scope):
        return
    out = left_out(ordinance, sight.circumstances)
    if out is not None and not (isinstance(provision, Rule) and provision.duty in out.leaves):
        yield Evidence(f"By the register {out.why}, so {out.scope.id} ({out.scope.citation}) leaves this practice out.")
    if condition_of(provision, ordinance, sight.circumstances) is None:
        category = sight.circumstances.categories.get(ordinance.id)
        if provision.only_for and category is not None and category not in provision.only_for:
            asked = " and ".join(provision.only_for)
            yield Evidence(f"It is asked of {asked} only; the category here is {category}.")
        else:
            yield Evidence("The way to the facility, as entered, does not bring this rule in.")


def where(seqs: Sequence[int], words: str) -> list[Evidence]:
    """How many entries there are of a sort, and which; nothing where there is none."""
    return [Evidence(f"{words}: {len(seqs)}.", tuple(seqs))] if seqs else []
