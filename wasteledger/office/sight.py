"""What is looked at when a provision is held against the journal, and the form of what is found."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, tzinfo

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.values import Body
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.describing import describe
from wasteledger.office.generator import standings_now
from wasteledger.office.record_triggers import record_triggers_of
from wasteledger.office.triggers import triggers_of
from wasteledger.office.words import short_day
from wasteledger.office.workplace import zone_of
from wasteledger.ordinance import Ordinance, Provision, Rule, Trigger
from wasteledger.ordinance.circumstances import Circumstances, condition_of, left_out
from wasteledger.ordinance.rules import Scope


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
        may_be: Of ordinances whose category an interval leaves open, the categories that it may be, the highest first.
    """

    reader: Reader
    zone: tzinfo
    today: date
    rules: tuple[Ordinance, ...]
    started: tuple[Trigger, ...]
    records: tuple[Trigger, ...]
    circumstances: Circumstances
    may_be: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def facts(self, *wanted: type[Body]) -> tuple[Fact, ...]:
        """The effective facts of some kinds, oldest first."""
        return self.reader.facts_between(kinds=tuple(kind.KIND for kind in wanted))

    def day_of(self, fact: Fact) -> str:
        """The local day of a fact, short_day."""
        return short_day(fact.happened_at.astimezone(self.zone).date())

    def told(self, fact: Fact) -> Evidence:
        """A fact in words, with its local day and its entry."""
        return Evidence(f"{self.day_of(fact)}: {describe(fact.body, self.zone)}", (fact.seq,))


Findings = tuple[list[Evidence], list[Evidence]]
"""What the journal shows, and what is missing."""


def sight_of(reader: Reader, today: date, rules: tuple[Ordinance, ...]) -> Sight:
    """What there is to be looked at; *rules* are in force, overrides laid over them."""
    zone = zone_of(reader)
    started, records = triggers_of(reader, zone), record_triggers_of(reader, zone)
    known = circumstances_of(reader, today, rules, (*started, *records))
    now = standings_now(reader, today, rules) if known.unsettled else {}
    may_be = {ordinance: now[ordinance].may_be for ordinance in known.unsettled if ordinance in now}
    return Sight(reader, zone, today, rules, started, records, known, may_be)


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
    if may_be_asked(sight, ordinance, provision):
        return
    if condition_of(provision, ordinance, sight.circumstances) is None:
        category = sight.circumstances.categories.get(ordinance.id)
        if provision.only_for and category is not None and category not in provision.only_for:
            asked = " and ".join(provision.only_for)
            yield Evidence(f"Asked of {asked} only; {category_words(sight, ordinance)}.")
        else:
            yield Evidence("The way to the facility, as entered, does not bring this rule in.")


def may_be_asked(sight: Sight, ordinance: Ordinance, provision: Provision) -> bool:
    """Whether a provision speaks to a lower category than the highest that the estimate leaves open, which may hold."""
    may_be = sight.may_be.get(ordinance.id, ())
    return not set(provision.only_for).isdisjoint(may_be) and may_be[0] not in provision.only_for


def rests_on(sight: Sight, ordinance: Ordinance, provision: Provision) -> Iterator[Evidence]:
    """On which category, or what else, a provision's being asked here rests, in the words of `condition_of`."""
    said = condition_of(provision, ordinance, sight.circumstances)
    if provision.only_for and said is None and may_be_asked(sight, ordinance, provision):
        said = f"asked of {' and '.join(provision.only_for)} only; {category_words(sight, ordinance)}"
    if said:
        yield Evidence(f"{said[:1].upper()}{said[1:]}.")


def category_words(sight: Sight, ordinance: Ordinance) -> str:
    """The category that an ordinance gives the practice now, or what leaves it open."""
    known = sight.circumstances
    category = known.categories.get(ordinance.id)
    if category is None:
        return "the category here is not known"
    if ordinance.id in known.unsettled:
        lower = "".join(f", may be {name}" for name in sight.may_be.get(ordinance.id, ())[1:])
        return f"the practice may be {category} now{lower}; the estimate leaves it open"
    since = known.since.get(ordinance.id)
    return f"the category here is {category} {f'since {since}' if since else 'now'}"


def where(seqs: Sequence[int], words: str) -> list[Evidence]:
    """How many entries there are of a sort, and which; nothing where there is none."""
    return [Evidence(f"{words}: {len(seqs)}.", tuple(seqs))] if seqs else []
