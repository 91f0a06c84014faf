"""What every answer is made from: the facts of a period, and the register, papers and statements as at its end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cached_property, lru_cache
from typing import Generic, NamedTuple, TypeVar

from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact
from wasteledger.model.filings import (
    DutyDone,
    OtherWaste,
    PaperFiled,
    PaperKind,
    Statement,
    StatementTopic,
    Training,
)
from wasteledger.model.register import OrdinanceDetails, PersonDetails, Register, SiteDetails
from wasteledger.model.values import Body, Value
from wasteledger.office.answers.points import Point, missing, shown
from wasteledger.office.answers.questions import Question
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.coverage import day_bounds
from wasteledger.office.due import laid_over
from wasteledger.office.triggers import triggers_of
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import Duty, Event, Ordinance, Provision, Trigger, read_ordinance
from wasteledger.ordinance.circumstances import Circumstances, left_out, speaking_to
from wasteledger.ordinance.words import Force

Kind = TypeVar("Kind", bound=Body)
Details = TypeVar("Details", bound=Value)

_MOST_PAPERS = 3

# Looks, levels and weighings are left out: most of a journal, and no answer rests on single ones of them.
_READ = (
    Register,
    kinds.ContainerOpened,
    kinds.ContainerClosed,
    kinds.ContainerMoved,
    kinds.PickupBooked,
    kinds.PickupReleased,
    kinds.Receipt,
    kinds.SeparatorInspection,
    kinds.Repair,
    kinds.UnitReplaced,
    kinds.LineCleaning,
    kinds.Milestone,
    DutyDone,
    Training,
    PaperFiled,
    Statement,
    OtherWaste,
)
_FILLING = (kinds.Swap, kinds.Deposit)
# What came after a period is looked at only to tell how something ended that was open in it.
_ENDINGS = (kinds.Repair, kinds.UnitReplaced, kinds.Receipt, kinds.Milestone, DutyDone)


class Noted(NamedTuple, Generic[Kind]):
    """A fact that counts, with its local day and its body."""

    on: date
    fact: Fact
    body: Kind

    @property
    def seq(self) -> int:
        """The entry that says so."""
        return self.fact.seq


@dataclass(frozen=True, slots=True)
class Registered(Generic[Details]):
    """A line of the register that was in service at the end of the period.

    Attributes:
        ref: Its short name.
        details: As entry *seq* has them.
        seq: The newest entry of it.
        since_on: The local day from which it was in service.
    """

    ref: str
    details: Details
    seq: int
    since_on: date


class Inquiry:
    """The journal of one site on the days from *since* to *until*, both included.

    Attributes:
        question: Which question is being answered; None where it does not matter.
    """

    question: Question | None = None

    def __init__(self, reader: Reader, zone: tzinfo, since: date, until: date, now: datetime) -> None:
        self.reader, self.zone, self.since, self.until, self.now = reader, zone, since, until, now
        self.begin, self.end = day_bounds(since, zone)[0], day_bounds(until, zone)[1]

    # -- facts -----------------------------------------------------------------------------------------------------

    @cached_property
    def _all(self) -> dict[str, list[Fact]]:
        found: defaultdict[str, list[Fact]] = defaultdict(list)
        for fact in self.reader.facts_between(until=self.end, kinds=tuple(kind.KIND for kind in _READ)):
            found[fact.body.KIND].append(fact)
        for fact in self.reader.facts_between(self.begin, self.end, tuple(kind.KIND for kind in _FILLING)):
            found[fact.body.KIND].append(fact)
        return found

    @cached_property
    def _later(self) -> tuple[Fact, ...]:
        kept = tuple(kind.KIND for kind in _ENDINGS)
        end = self.now + timedelta(microseconds=1)
        return self.reader.facts_between(self.end, end, kept) if self.end < end else ()

    def until_end(self, kind: type[Kind]) -> list[Noted[Kind]]:
        """Every fact of a kind up to the end of the period, oldest first; of swaps and deposits, the period's alone."""
        return [
            Noted(self.day(fact.happened_at), fact, fact.body)
            for fact in self._all.get(kind.KIND, ())
            if isinstance(fact.body, kind)
        ]

    def within(self, kind: type[Kind]) -> list[Noted[Kind]]:
        """Those of the period, oldest first."""
        return [one for one in self.until_end(kind) if one.on >= self.since]

    def later(self, kind: type[Kind]) -> list[Noted[Kind]]:
        """Those that came after the period, up to now: no evidence of it, but they tell how something ended."""
        return [Noted(self.day(one.happened_at), one, one.body) for one in self._later if isinstance(one.body, kind)]

    @cached_property
    def begins_on(self) -> date:
        """The local day of the first thing that the journal tells of; today where it tells of nothing."""
        first = next(self.reader.entries(Filter(limit=1)), None)
        return self.day(first.happened_at if first is not None else self.now)

    def day(self, instant: datetime) -> date:
        """The local day of an instant."""
        return instant.astimezone(self.zone).date()

    # -- the register ----------------------------------------------------------------------------------------------

    @cached_property
    def in_force(self) -> frozenset[str]:
        """The ids of the ordinances in force at the end of the period, whether they speak to this practice or not.

        Raises:
            BadOrdinance: A text that this release cannot read.
        """
        return frozenset(_read(one.details.text, one.ref).id for one in self.registered(OrdinanceDetails))

    def is_theirs(self, ordinance: str | None) -> bool:
        """Whether what was done for an ordinance answers the question of the place that asks."""
        return self.question is None or self.question.is_of(ordinance or "")

    def registered(self, details: type[Details]) -> list[Registered[Details]]:
        """The lines of one sort that were in service at the end of the period, by ref."""
        found: dict[str, Registered[Details]] = {}
        for noted in self.until_end(Register):
            body = noted.body
            if not isinstance(body.details, details):
                continue
            if body.retired:
                found.pop(body.ref, None)
                continue
            since_on = found[body.ref].since_on if body.ref in found else noted.on
            found[body.ref] = Registered(body.ref, body.details, noted.seq, since_on)
        return [found[ref] for ref in sorted(found)]

    @cached_property
    def site(self) -> Registered[SiteDetails] | None:
        """The practice itself."""
        return next(iter(self.registered(SiteDetails)), None)

    @cached_property
    def heard(self) -> tuple[Ordinance, ...]:
        """The ordinances in force at the end of the period with what they ask of this practice, overrides laid over.

        Raises:
            BadOrdinance: A text that this release cannot read.
        """
        return speaking_to(self._laid, self._known)

    @cached_property
    def ordinances(self) -> tuple[Ordinance, ...]:
        """Those of them that do not leave this practice out.

        Raises:
            BadOrdinance: A text that this release cannot read.
        """
        return tuple(one for one in self.heard if left_out(one, self._known) is None)

    @cached_property
    def _laid(self) -> tuple[Ordinance, ...]:
        return laid_over(tuple(_read(one.details.text, one.ref) for one in self.registered(OrdinanceDetails)))[0]

    @cached_property
    def _known(self) -> Circumstances:
        return circumstances_of(self.reader, self.until)

    def done(self, duty: Duty) -> tuple[Trigger, ...]:
        """Everything that was recorded as done for a duty, also after the period, as the ordinances count it."""
        found = triggers_of(self.reader, self.zone)
        return tuple(one for one in found if one.event is Event.DUTY_DONE and one.duty == duty)

    def person(self, ref: str) -> str:
        """The name of somebody, in service or not."""
        names = [
            noted.body.details.name
            for noted in self.until_end(Register)
            if noted.body.ref == ref and isinstance(noted.body.details, PersonDetails)
        ]
        return names[-1] if names else ref

    # -- papers and statements -------------------------------------------------------------------------------------

    def papers(self, what: PaperKind) -> list[Noted[PaperFiled]]:
        """The papers of a kind that were noted up to the end of the period, newest first; the same one once."""
        newest: dict[tuple[object, ...], Noted[PaperFiled]] = {}
        for noted in self.until_end(PaperFiled):
            if noted.body.what is what:
                body = noted.body
                newest[body.separator, body.about, body.document, body.place] = noted
        return sorted(newest.values(), key=lambda noted: noted.fact.order, reverse=True)

    def stated(self, topic: StatementTopic, says: str) -> Point:
        """What was last stated of a topic; *says* is the statement as a sentence without its first capital."""
        found = [noted for noted in self.until_end(Statement) if noted.body.topic is topic]
        if not found:
            return missing(f"No statement is on file that {says}.", do=f"wasteledger statement {topic}")
        last = found[-1]
        who = self.person(last.fact.recorded_by)
        if last.body.holds:
            return shown(f"{who} stated on {short_day(last.on)} that {says}.", (last.seq,))
        why = " ".join((last.body.why or "").split()).rstrip(".")
        return missing(f"{who} stated on {short_day(last.on)} that it does not hold that {says}: {why}.", (last.seq,))

    def filed(self, what: PaperKind, noun: str, *, separator: str = "", only_its: bool = False) -> Iterator[Point]:
        """Where the papers of a kind lie, the newest few; nothing where there is none.

        Of a *separator* count those that name it and, unless *only_its*, those that name none.
        """
        refs = (separator,) if only_its else (None, separator)
        found = [one for one in self.papers(what) if not separator or one.body.separator in refs]
        for one in found[:_MOST_PAPERS]:
            yield shown(f"{_paper_words(noun, one.body)}, noted {short_day(one.on)}.", (one.seq,))
        if len(found) > _MOST_PAPERS:
            rest = found[_MOST_PAPERS:]
            yield shown(f"And {count(len(rest), 'older paper')} of that kind.", (one.seq for one in rest))


def cited(provision: Provision) -> str:
    """The clause of a provision, whether it is law, whether it was read at its source, and who changed it here."""
    force = "" if provision.force is Force.LAW else f", {provision.force.words}"
    unread = "" if provision.confirmed else ", not read at its source"
    changed = f", changed by {provision.override.by_title}" if provision.override is not None else ""
    return f"{provision.citation}{force}{unread}{changed}"


def _paper_words(noun: str, body: PaperFiled) -> str:
    lies = f"to be had on request from {body.place}" if body.on_request else f"on file in {body.place}"
    about = f" ({body.about})" if body.about else ""
    document = f", {body.document}" if body.document else ""
    return f"{noun}{about} {lies}{document}"


@lru_cache(maxsize=64)
def _read(text: str, name: str) -> Ordinance:
    return read_ordinance(text, name=f"{name}.toml")
