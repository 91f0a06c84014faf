"""The answer about the one-time report: for each authority that asks one, whether it was filed, and since when."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from wasteledger.model.entries import Milestone
from wasteledger.model.filings import DutyDone, PaperKind
from wasteledger.office.answers.inquiry import Inquiry, Noted
from wasteledger.office.answers.points import Point, here, missing, shown
from wasteledger.office.answers.separators import ENTER
from wasteledger.office.words import short_day
from wasteledger.ordinance import Duty, Event, Kind, Level, Ordinance, Rule
from wasteledger.ordinance.doings import done_for, twins_of

Filed = Noted[Milestone] | Noted[DutyDone]


def report_on_file(asked: Inquiry) -> Iterator[Point]:
    """Question 28: for each ordinance that asks the report, when it was filed; and whether the owner is the same."""
    papers = list(asked.filed(PaperKind.ONE_TIME_REPORT, "One-time report"))
    yield from papers
    asking = [(one, rules) for one in asked.heard if (rules := _asked_by(one, asked))]
    for ordinance, rules in asking:
        yield from _of_ordinance(asked, ordinance, rules)
    if not asking:
        yield shown("No ordinance in force here asks for one.")
        for one in sorted(_filed(asked.until_end(Milestone), asked.until_end(DutyDone)), key=_by_time)[-1:]:
            yield shown(f"Noted as filed on {short_day(one.on)}{_note(one)}.", (one.seq,))
    elif not papers:
        yield missing("Where the copy lies is not noted.", do="wasteledger paper one_time_report --place …")
    yield from _transfers(asked)
    site = asked.site
    if site is not None and site.details.owner:
        yield shown(f"Owner: {site.details.owner}.", (site.seq,))
    else:
        yield missing("The owner is not entered.", do=ENTER)
    yield here("Whose name the report bears can be seen on its copy: no entry ties the two together.")


def _asked_by(ordinance: Ordinance, asked: Inquiry) -> list[Rule]:
    """The rules of an ordinance that ask for the report."""
    return [
        rule
        for rule in ordinance.rules
        if rule.duty == Duty.ONE_TIME_REPORT
        and rule.kind is Kind.DEADLINE
        and not rule.is_set_aside
        and rule.stands_on(asked.until)
    ]


def _of_ordinance(asked: Inquiry, ordinance: Ordinance, rules: Sequence[Rule]) -> Iterator[Point]:
    whose = f"{ordinance.title}, {ordinance.authority}"
    counted = _counting(asked, ordinance, rules, _filed(asked.until_end(Milestone), asked.until_end(DutyDone)))
    wanted = _asking_now(asked, rules)
    do = _how(ordinance, wanted)
    if counted:
        last = counted[-1]
        yield shown(f"{whose}: noted as filed on {short_day(last.on)}{_note(last)}.", (last.seq,))
    else:
        names = " or ".join(rule.id for rule in wanted)
        yield missing(f"{whose}: not noted as filed, which {names} asks.", do=do)
    sold = _sold(asked)
    if not sold or not any(Event.OWNERSHIP_TRANSFERRED in rule.triggers for rule in rules):
        return
    if any(_is_after(one, sold[-1]) for one in counted):
        return
    words = f"{whose}: no report is noted since the transfer of {short_day(sold[-1].on)}"
    later = _counting(asked, ordinance, rules, _filed(asked.later(Milestone), asked.later(DutyDone)))
    if later:
        after = f"up to {short_day(asked.until)}; one is noted on {short_day(later[0].on)} (entry {later[0].seq})"
        yield shown(f"{words}, {after}.", (sold[-1].seq,))
    elif counted:
        yield missing(f"{words}.", (sold[-1].seq,), do=do)


def _counting(asked: Inquiry, ordinance: Ordinance, rules: Sequence[Rule], filed: Iterable[Filed]) -> list[Filed]:
    """Of what was filed, oldest first, what answers one of these rules: sent for it, or for what restates it."""
    twins, reports = twins_of(asked.heard), asked.done(Duty.ONE_TIME_REPORT)
    seqs = {done.seq for rule in rules for done in done_for(reports, ordinance, rule, twins)}
    return sorted((one for one in filed if one.seq in seqs), key=_by_time)


def _asking_now(asked: Inquiry, rules: Sequence[Rule]) -> Sequence[Rule]:
    """Those of *rules* that what is noted speaks to: a change of owner, or the first wastewater; else all of them."""
    sold = _sold(asked)
    begun = [one for one in asked.until_end(Milestone) if one.body.what == "first_discharge"]
    event, since = (Event.OWNERSHIP_TRANSFERRED, sold) if sold else (Event.FIRST_DISCHARGE, begun)
    if not since:
        return rules
    on = since[-1].on
    found = [
        rule
        for rule in rules
        if event in rule.triggers and rule.stands_on(on) and (rule.only_if_before is None or on < rule.only_if_before)
    ]
    return found or rules


def _how(ordinance: Ordinance, rules: Sequence[Rule]) -> str:
    """The command that notes it: the milestone stands for the federal report."""
    if ordinance.level is Level.FEDERAL:
        return "wasteledger milestone one_time_report_filed"
    return f"wasteledger done {ordinance.id}:{rules[0].id}"


def _is_after(one: Filed, sold: Noted[Milestone]) -> bool:
    """Whether it was filed after the sale, or for a day that came after it."""
    names_later = isinstance(one.body, DutyDone) and one.body.due_on is not None and one.body.due_on >= sold.on
    return names_later or one.fact.order > sold.fact.order


def _transfers(asked: Inquiry) -> Iterator[Point]:
    """Changes of owner that are noted."""
    sold = _sold(asked)
    for one in sold:
        yield shown(f"Ownership was transferred on {short_day(one.on)}{_note(one)}.", (one.seq,))
    if not sold:
        # Single entries may tell of earlier days; a change of owner is only to be looked for from then on.
        kept = f"; the practice is in this journal since {short_day(asked.site.since_on)}" if asked.site else ""
        yield shown(f"No transfer of ownership is noted{kept}.", (asked.site.seq,) if asked.site else ())


def _sold(asked: Inquiry) -> list[Noted[Milestone]]:
    return [one for one in asked.until_end(Milestone) if one.body.what == "ownership_transferred"]


def _filed(milestones: Iterable[Noted[Milestone]], done: Iterable[Noted[DutyDone]]) -> list[Filed]:
    """Those among milestones and duties that say that a one-time report was filed."""
    return [
        *(one for one in milestones if one.body.what == "one_time_report_filed"),
        *(one for one in done if one.body.duty == Duty.ONE_TIME_REPORT),
    ]


def _note(one: Filed | Noted[Milestone]) -> str:
    document = f", {one.body.document}" if isinstance(one.body, DutyDone) and one.body.document else ""
    return document + (f" ({' '.join(one.body.note.split()).rstrip('.')})" if one.body.note else "")


def _by_time(one: Filed) -> tuple[datetime, int]:
    return one.fact.order
