"""Worksheets for the office's own filings: one-time report, yearly amounts, certification, papers of a shipment.

A worksheet gathers what the register and the journal answer, in our own questions. It is no form, nothing is sent, and
the authority's own words prevail. What is missing is shown as missing; an estimate is never shown as a weighing.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from wasteledger.errors import Unknown, WasteLedgerError
from wasteledger.model.filings import PaperKind
from wasteledger.office.days import checked_day
from wasteledger.office.due import due_from, laid_over, ordinances_in_force
from wasteledger.office.words import short_day
from wasteledger.office.workplace import Workplace
from wasteledger.office.worksheet_building import (
    NoSuchPeriod,
    Sheet,
    asked_fields,
    federal_list,
    filing_days,
    last_year,
    period_of,
)
from wasteledger.office.worksheet_lines import Asking, Worksheet
from wasteledger.office.worksheet_shipment import shipment
from wasteledger.ordinance import Duty, Kind, Ordinance, Rule, in_force
from wasteledger.ordinance.citations import find_cited
from wasteledger.ordinance.paper_words import ReportField, ReportKind
from wasteledger.ordinance.words import FILINGS

__all__ = ["NoSuchPeriod", "NotAFiling", "certification", "one_time_report", "shipment", "yearly_amounts"]

AMOUNT_FIELDS = (
    ReportField.FACILITY_NAME,
    ReportField.PHYSICAL_ADDRESS,
    ReportField.AMALGAM_MADE_MG,
    ReportField.AMALGAM_SHIPPED_MG,
    ReportField.PICKUPS,
    ReportField.CARRIERS,
    ReportField.FACILITIES,
)
"""What a summary of a year holds in any case: own choice, after what authorities ask in their records of shipments."""

CERTIFICATION_FIELDS = (
    ReportField.FACILITY_NAME,
    ReportField.OWNER,
    ReportField.CONTACT,
    ReportField.PHONE,
    ReportField.PHYSICAL_ADDRESS,
    ReportField.IDENTIFIERS,
    ReportField.CHAIRS,
    ReportField.AMALGAM_CHAIRS,
    ReportField.SEPARATORS,
    ReportField.MAINTENANCE_BY,
    ReportField.TRAINED_STAFF,
    ReportField.PICKUPS,
    ReportField.FACILITIES,
    ReportField.CERTIFIES_SEPARATOR,
    ReportField.CERTIFIES_PRACTICES,
)
"""What a certification may speak of where its ordinance file lists nothing: own choice."""


class NotAFiling(WasteLedgerError):
    """The rule asks for nothing that is sent to an authority, or is not followed here."""

    code = "not-a-filing"


def one_time_report(place: Workplace) -> Worksheet:
    """What a one-time report states, as each ordinance in force lists it; else as the federal rule does.

    Raises:
        BadOrdinance: An ordinance in the register cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        sheet = Sheet(reader, today, *last_year(today))
        said = tuple(one for one in sheet.contents if one.provision.report is ReportKind.ONE_TIME)
        asked_by = [sheet.asking(one.ordinance, one.provision) for one in said]
        if not said:
            said = federal_list(today)
            asked_by = [Asking.of(one.ordinance, one.provision, is_asked_here=False) for one in said]
            sheet.notes.append(
                "No ordinance in force lists what a one-time report of this practice states; the list of "
                f"{said[0].ordinance.title} is used."
            )
        fields, asking = asked_fields(said)
        shown = sheet.for_this_office(fields, said)
        sheet.add(shown, asking)
        sheet.add_filed(Duty.ONE_TIME_REPORT, PaperKind.ONE_TIME_REPORT)
        return sheet.finish(
            "one-time-report",
            "One-time report of the practice",
            asked_by=asked_by,
            days=sheet.days(Duty.ONE_TIME_REPORT),
            speaks_of_period=False,
        )


def yearly_amounts(place: Workplace, year: int) -> Worksheet:
    """How much waste arose and left in a calendar year, up to today where it is not over.

    Raises:
        NoSuchPeriod: It has not begun.
        BeyondReckoning: A year that cannot be reckoned with.
        BadOrdinance: An ordinance in the register cannot be read.
    """
    today = place.today()
    if not 1 <= year <= today.year:
        raise NoSuchPeriod(f"The year {year} has not begun here.", hint=f"Ask for {today.year} or one before it.")
    since = checked_day(date(year, 1, 1))
    until = min(date(year, 12, 31), today)
    with place.reading() as reader:
        sheet = Sheet(reader, today, since, until)
        said = [one for one in sheet.contents if one.provision.report is ReportKind.AMOUNTS]
        fields, asking = asked_fields(said)
        sheet.add((*AMOUNT_FIELDS, *(one for one in fields if one not in AMOUNT_FIELDS)), asking)
        sheet.add_filed(Duty.REPORT_AMOUNTS, None)
        if not said:
            sheet.notes.append(
                "No ordinance in force lists what a report of amounts of this practice states; the list is our own."
            )
        if until < date(year, 12, 31):
            sheet.notes.append(f"The year is not over: this counts up to {short_day(until)}.")
        return sheet.finish(
            "amounts",
            f"Amounts of amalgam waste in {year}",
            asked_by=[sheet.asking(one.ordinance, one.provision) for one in said],
            days=sheet.days(Duty.REPORT_AMOUNTS, year),
        )


def certification(place: Workplace, rule: str, *, since: date | None = None, until: date | None = None) -> Worksheet:
    """What the filing that *rule* asks for may state, for its period.

    Args:
        place: Which site.
        rule: Its name, ``ordinance:rule``, or a clause as papers cite it.
        since: First day of the period; by default that of the calendar years that the rule's day looks back on, else
            a year ago.
        until: Last day; by default that of those years or today, whichever is sooner.

    Raises:
        Unknown: No ordinance in force has that rule, or several have.
        NotAFiling: It asks for nothing that is sent, or a nearer ordinance sets it aside.
        NoSuchPeriod: The period ends before it begins, or lies ahead.
    """
    today = place.today()
    with place.reading() as reader:
        ordinance, found = _the_filing(in_force(laid_over(ordinances_in_force(reader))[0]), rule)
        due = due_from(reader, today)
        days = tuple(
            one for one in filing_days(due, (found.duty,)) if (one.ordinance, one.rule) == (ordinance.id, found.id)
        )
        first_on, last_on, how = period_of(found, days, today)
        if since is not None or until is not None:
            first_on, last_on, how = since or first_on, until or min(today, last_on), ""
        if first_on > last_on or first_on > today:
            raise NoSuchPeriod(
                f"There is no period from {short_day(first_on)} to {short_day(last_on)} yet.",
                hint="The first day lies before the last one, and no later than today.",
            )
        sheet = Sheet(reader, today, first_on, min(last_on, today), due)
        said = [one for one in sheet.contents if (one.ordinance.id, one.provision.duty) == (ordinance.id, found.duty)]
        fields, asking = asked_fields(said)
        sheet.add(sheet.for_this_office(fields, said) or CERTIFICATION_FIELDS, asking)
        sheet.add_filed(found.duty, PaperKind.CERTIFICATION, ordinance.id, found.id)
        if not said:
            sheet.notes.append(f"{ordinance.title} lists no contents in its file here; the list is our own.")
        if how:
            sheet.notes.append(how)
        if not days:
            events = " or ".join(event.words for event in found.triggers)
            sheet.notes.append(f"No day runs now: it is counted from {events}.")
        return sheet.finish(
            "certification",
            found.title,
            asked_by=[sheet.asking(*one) for one in ((ordinance, found), *((o.ordinance, o.provision) for o in said))],
            days=days,
        )


def _the_filing(rules: Sequence[Ordinance], wanted: str) -> tuple[Ordinance, Rule]:
    within, _, name = wanted.rpartition(":")
    every = [(ordinance, rule) for ordinance in rules for rule in ordinance.rules if not rule.is_set_aside]
    found = [
        (ordinance, rule)
        for ordinance, rule in every
        if within in ("", ordinance.id) and rule.id.casefold() == name.casefold()
    ]
    if not found:
        cited = find_cited(rules, wanted)
        found = [
            (one.ordinance, one.provision)
            for one in cited
            if isinstance(one.provision, Rule) and _is_filing(one.provision) and not one.provision.is_set_aside
        ]
    if not found and (aside := _set_aside(rules, wanted)):
        raise NotAFiling(f"{wanted} is not followed here. {aside}", hint="See wasteledger ordinance show.")
    filings = ", ".join(rule.id for _, rule in every if _is_filing(rule)) or "none"
    if not found:
        raise Unknown(f"No ordinance in force has a filing “{wanted}”.", hint=f"Filings in force: {filings}.")
    if len(found) > 1:
        choices = " or ".join(f"{ordinance.id}:{rule.id}" for ordinance, rule in found)
        raise Unknown(f"Several rules in force answer to “{wanted}”.", hint=f"Write {choices}.")
    ordinance, rule = found[0]
    if not _is_filing(rule):
        raise NotAFiling(
            f"{rule.id} ({rule.title}) asks for nothing that is sent to an authority.",
            hint=f"Filings in force: {filings}.",
        )
    return ordinance, rule


def _set_aside(rules: Sequence[Ordinance], wanted: str) -> str:
    """A nearer ordinance's word that sets that rule aside; empty where none does."""
    within, _, name = wanted.rpartition(":")
    named = [
        rule
        for ordinance in rules
        if within in ("", ordinance.id)
        for rule in ordinance.rules
        if rule.id.casefold() == name.casefold()
    ]
    cited = [one.provision for one in find_cited(rules, wanted)]
    return next((" ".join(str(one.override).split()) for one in (*named, *cited) if one.is_set_aside), "")


def _is_filing(rule: Rule) -> bool:
    return rule.kind is Kind.DEADLINE and rule.duty in FILINGS
