"""How a worksheet is put together: who asks for what, by when, for which period, and what was filed before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from wasteledger.errors import NotUnderstood
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Milestone
from wasteledger.model.filings import DutyDone, PaperFiled, PaperKind
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import DueList, due_from, laid_over, ordinances_in_force
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.shipments import chain_end
from wasteledger.office.words import short_day
from wasteledger.office.workplace import site_details, zone_of
from wasteledger.office.worksheet_answers import QUESTIONS, FieldAnswers
from wasteledger.office.worksheet_lines import (
    FORM_PREVAILS,
    Answer,
    Asking,
    FilingDay,
    Line,
    Part,
    Worksheet,
    each_once,
    in_parts,
    note_words,
)
from wasteledger.ordinance import Duty, Ordinance, Provision, Rule, SaidBy, in_force, read_ordinance
from wasteledger.ordinance.circumstances import condition_of, left_out
from wasteledger.ordinance.due_forms import EachYear
from wasteledger.ordinance.figures import reports
from wasteledger.ordinance.paper_words import ReportField, ReportKind
from wasteledger.ordinance.rules import ReportContents
from wasteledger.ordinance.words import Years
from wasteledger.resources import find

FEDERAL = "us-federal-dental"
"""Whose list of contents stands in for a one-time report where no ordinance in force has one."""

_OF_ANY_OFFICE = frozenset(
    {
        ReportField.FACILITY_NAME,
        ReportField.PHYSICAL_ADDRESS,
        ReportField.MAILING_ADDRESS,
        ReportField.PHONE,
        ReportField.CONTACT,
        ReportField.OWNER,
        ReportField.OPERATOR,
        ReportField.IDENTIFIERS,
        ReportField.CERTIFIES_EMERGENCY_ONLY,
    }
)
"""What an office states that removes amalgam in emergencies only: 40 CFR 441.50(a)(3)(i)."""

_SECOND_HALF = 7
"""From this month on a yearly filing is taken to speak of its own year: own reading."""


class NoSuchPeriod(NotUnderstood):
    """A period that ends before it begins, or has not begun."""

    code = "no-such-period"


class Sheet:
    """A worksheet in the making: one site, one day, one period of local days, both ends included."""

    def __init__(self, reader: Reader, today: date, since: date, until: date, due: DueList | None = None) -> None:
        self._reader, self._today, self._since, self._until = reader, today, since, until
        self._due = due or due_from(reader, today)
        laid, unfit = laid_over(ordinances_in_force(reader))
        self._rules = in_force(laid)
        self._known = circumstances_of(reader, today, self._rules)
        self._answers = FieldAnswers(reader, today, since, until)
        self._lines: list[Line] = []
        self.contents = tuple(said for said in reports(self._rules, on=today) if self._is_asked_here(said))
        self.notes = [one.says for one in unfit]

    def add(self, fields: Iterable[ReportField], asking: dict[ReportField, tuple[str, ...]]) -> None:
        """The questions of these fields, in the order of our own list, each with who asks it."""
        wanted = frozenset(fields)
        self._lines += [self._answers.line(one, asking.get(one, ())) for one in QUESTIONS if one in wanted]

    def for_this_office(
        self, fields: tuple[ReportField, ...], said: Sequence[SaidBy[ReportContents]]
    ) -> tuple[ReportField, ...]:
        """The fields that such an office states: one that sees amalgam in emergencies only states less."""
        only = ReportField.CERTIFIES_EMERGENCY_ONLY
        if only not in fields:
            return fields
        cited = " and ".join(one.provision.citation for one in said if only in one.provision.fields)
        if site_details(self._reader).only_emergencies:
            self.notes.append(
                "By the register amalgam is never placed here, and removed in emergencies only: what an office states "
                f"that handles amalgam is left out ({cited})."
            )
            return tuple(one for one in fields if one in _OF_ANY_OFFICE)
        self.notes.append(
            "An office that never places amalgam and removes it in emergencies only states less; enter it in the "
            f"site's line of the register (only_emergencies) if that is so ({cited})."
        )
        return tuple(one for one in fields if one is not only)

    def add_filed(self, duty: str, paper: PaperKind | None, ordinance: str = "", rule: str = "") -> None:
        """What was filed before, and where the copy lies."""
        zone = zone_of(self._reader)
        says: list[str] = []
        seqs: list[int] = []
        for fact in self._reader.facts_between(kinds=(DutyDone.KIND, PaperFiled.KIND, Milestone.KIND)):
            on = short_day(fact.happened_at.astimezone(zone).date())
            match fact.body:
                case DutyDone() as done if done.duty == duty and done.ordinance in (
                    None,
                    "",
                    ordinance or done.ordinance,
                ):
                    if rule and done.rule not in (None, rule):
                        continue
                    named = " of ".join(one for one in (done.rule, done.ordinance) if one)
                    answers = f", for the day {short_day(done.due_on)}" if done.due_on else ""
                    document = f", {done.document}" if done.document else ""
                    document += note_words(done.note)
                    says.append(f"{on}: recorded as done{f' ({named})' if named else ''}{answers}{document}.")
                case Milestone(what="one_time_report_filed") as filed_once if duty == Duty.ONE_TIME_REPORT:
                    says.append(f"{on}: recorded as filed{note_words(filed_once.note)}.")
                case PaperFiled() as filed if paper is not None and filed.what is paper:
                    says.append(f"{on}: a copy is noted to lie at {filed.place}{note_words(filed.note)}.")
                case _:
                    continue
            seqs.append(fact.seq)
        answer = Answer(tuple(says) or ("Nothing is recorded.",), seqs=each_once(seqs))
        self._lines.append(Line(Part.FILED, "filed", "When was it filed before, and where is the copy?", answer))

    def days(self, duty: str, year: int | None = None) -> tuple[FilingDay, ...]:
        """The days by which rules in force want that duty done; for a *year*, those that look back on it."""
        rules = {(ordinance.id, rule.id): rule for ordinance in self._rules for rule in ordinance.rules}
        found = filing_days(self._due, (duty,))
        if year is None:
            return found
        spans = ((one, years_of(rules[one.ordinance, one.rule], one.due_on)) for one in found)
        return tuple(one for one, years in spans if years is None or years[0] <= year <= years[1])

    def asking(self, ordinance: Ordinance, provision: Provision) -> Asking:
        """That *provision* asks, with the condition on which it does."""
        return Asking.of(ordinance, provision, condition=condition_of(provision, ordinance, self._known) or "")

    def finish(
        self,
        kind: str,
        title: str,
        *,
        asked_by: Sequence[Asking],
        days: tuple[FilingDay, ...],
        speaks_of_period: bool = True,
    ) -> Worksheet:
        """The worksheet as it stands now."""
        end = chain_end(self._reader)
        began_on = self._reader.get_entry(1).happened_at.astimezone(zone_of(self._reader)).date()
        notes = [*self.notes, *self._left_out(kind)]
        if speaks_of_period and began_on > self._since:
            notes.append(f"This ledger begins on {short_day(began_on)}; what was before is not in it.")
        return Worksheet(
            kind=kind,
            title=title,
            practice=site_details(self._reader).name,
            prepared_on=self._today,
            seq=end.seq,
            digest=end.digest,
            since=self._since if speaks_of_period else None,
            until=self._until if speaks_of_period else None,
            asked_by=tuple(asked_by),
            days=days,
            lines=in_parts(self._lines),
            notes=(*notes, FORM_PREVAILS, AUTHORITY_DECIDES),
        )

    def _is_asked_here(self, said: SaidBy[ReportContents]) -> bool:
        """Whether such a practice owes that report: an ordinance that leaves it out may keep that very duty."""
        left = left_out(said.ordinance, self._known)
        stays = left is None or said.provision.duty in left.leaves
        return stays and condition_of(said.provision, said.ordinance, self._known) is not None

    def _left_out(self, kind: str) -> Iterable[str]:
        """What ordinances that ask for such reports say of whom they leave out, where that is this practice."""
        for ordinance in self._rules:
            left = left_out(ordinance, self._known)
            if left is None or not (ordinance.reports or kind == "certification"):
                continue
            what = f"but for {', '.join(left.leaves)}" if left.leaves else "wholly"
            yield (
                f"By its own words {ordinance.title} leaves this practice out, {what}: {left.why} "
                f"({left.scope.citation})."
            )


def asked_fields(
    said: Sequence[SaidBy[ReportContents]],
) -> tuple[tuple[ReportField, ...], dict[ReportField, tuple[str, ...]]]:
    """Every field that one of them lists, each once, and which of them list it."""
    asking: dict[ReportField, tuple[str, ...]] = {}
    for one in said:
        for wanted in one.provision.fields:
            asking[wanted] = (*asking.get(wanted, ()), one.provision.id)
    return tuple(asking), asking


def federal_list(today: date) -> tuple[SaidBy[ReportContents], ...]:
    """What a one-time report states by the federal rule, as this release ships it."""
    ordinance = read_ordinance(find(f"ordinances/{FEDERAL}.toml"))
    return tuple(one for one in reports((ordinance,), on=today) if one.provision.report is ReportKind.ONE_TIME)


def filing_days(due: DueList, duties: Sequence[str]) -> tuple[FilingDay, ...]:
    """The days of those duties, soonest first, each with how it stands today."""
    return tuple(FilingDay.of(one, due.state_of(one).value) for one in due.obligations if one.duty in duties)


def period_of(rule: Rule, days: Sequence[FilingDay], today: date) -> tuple[date, date, str]:
    """First and last day of what a filing looks back on, and how that was found.

    That of the years that its next day looks back on; where it has no such day, or those lie ahead, a year from today.
    """
    years = years_of(rule, days[0].due_on) if days else None
    if years is not None and date(years[0], 1, 1) <= today:
        named = " and ".join(str(year) for year in sorted(set(years)))
        how = f"Taken as looking back on {named}: our own reading of the day. Say --from and --to for another period."
        return date(years[0], 1, 1), date(years[1], 12, 31), how
    how = "Taken as looking back a year from today: our own choice. Say --from and --to for another period."
    return (*last_year(today), how)


def years_of(rule: Rule, due_on: date) -> tuple[int, int] | None:
    """The first and the last calendar year that a filing due on a day of the year looks back on: our own reading.

    One of the first half of a year looks back on the year before it, or on two of them where it comes every second
    year; one of the second half on its own year. None where its day is not one of the calendar.
    """
    if not isinstance(rule.due, EachYear):
        return None
    last = due_on.year - (rule.due.month < _SECOND_HALF)
    return last - (rule.due.years is not Years.ALL), last


def last_year(today: date) -> tuple[date, date]:
    """The twelve months up to today."""
    return today - timedelta(days=364), today
