"""What else is asked of a separator: papers on file, who answers for it, what it holds back, and how full its unit is.

A finding names the rule that asks, if one does, and what the journal shows; the local authority decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.filings import PaperFiled, PaperKind
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.standing import SeparatorStanding
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.separator_history import Installed, installed
from wasteledger.office.unit_outlook import full_forecast, unit_outlook
from wasteledger.office.words import count, short_day
from wasteledger.office.workplace import zone_of
from wasteledger.ordinance import Duty, Ordinance, Record, Rule, in_force, removal_minimum

# What `due` and `triggers` ask for stands together here.
__all__ = ["agreement_of", "full_forecast", "separator_findings"]

SOON_DAYS = 14
"""So many days ahead a unit that may be full is pointed out: own convention, the same as for what is due soon."""


def separator_findings(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> tuple[Finding, ...]:
    """What is missing or odd about each separator in service, by separator.

    Args:
        reader: The site.
        today: The site's local date.
        rules: The ordinances that speak to this practice, with every override laid over its provision; those of the
            register where none are handed in.

    Raises:
        BadOrdinance: An ordinance in the register cannot be read, or they do not fit together.
    """
    zone = zone_of(reader)
    laid = in_force(registered_ordinances(reader)) if rules is None else rules
    # An override may name an ordinance that does not speak to this practice and was left out.
    asked = tuple(replace(one, overrides=()) for one in laid)
    found: list[Finding] = []
    for separator in reader.separators():
        device = installed(reader, separator, zone)
        papers = _papers(reader, separator.separator)
        found += [
            *_replaced_since(separator, device),
            *_manual(asked, separator, device, papers, today),
            *_run_by_others(reader, separator, device),
            *_removal(asked, separator, device),
            *_legacy(asked, separator, device, today),
            *_filling(reader, separator, today),
        ]
    return tuple(found)


def agreement_of(reader: Reader, separator: SeparatorStanding) -> Fact | None:
    """The newest contract on file that names this separator; None without one.

    One that names no separator may be with the carrier, and answers nothing here.
    """
    found = [
        fact
        for fact in reader.facts_between(kinds=(PaperFiled.KIND,))
        if isinstance(fact.body, PaperFiled)
        and fact.body.what is PaperKind.CONTRACT
        and fact.body.separator == separator.separator
    ]
    return found[-1] if found else None


# -- findings ----------------------------------------------------------------------------------------------------------


def _replaced_since(separator: SeparatorStanding, device: Installed) -> Iterator[Finding]:
    if device.is_registered_since:
        return
    says = f"It was replaced whole on {short_day(device.on)}, and the register still speaks of the device before."
    do = "Enter make, model, standard, removal and manual of the new one in its line of the register."
    yield _finding("separator-line-is-older", separator, says, do, (device.seq,))


def _manual(
    asked: Sequence[Ordinance],
    separator: SeparatorStanding,
    device: Installed,
    papers: Sequence[PaperFiled],
    today: date,
) -> Iterator[Finding]:
    if separator.details.manual_on_file or any(one.what is PaperKind.OPERATING_MANUAL for one in papers):
        return
    keeping = [(ordinance, rule) for ordinance, rule in _rules(asked, today) if Record.OPERATING_MANUAL in rule.records]
    if keeping:
        says = f"Its operating manual is not on file. {_asked_by(*keeping[0])}{_and_others(len(keeping) - 1)}"
        name = separator.separator
        do = f"Get it from the maker, then: wasteledger paper operating-manual --place WHERE --separator {name}"
        yield _finding("manual-not-on-file", separator, says, do, (device.registered_seq,))


def _run_by_others(reader: Reader, separator: SeparatorStanding, device: Installed) -> Iterator[Finding]:
    """No rule's text was read on this; one sewer authority (City of Petaluma) asks offices who maintains it."""
    details = separator.details
    if details.run_by not in ("shared", "landlord"):
        return
    how = "shared with others" if details.run_by == "shared" else "the landlord's"
    if not details.responsible:
        says = f"It is {how}, and nobody is named who answers for it. An inspector may ask who maintains it."
        do = "Enter who in its line of the register (responsible)."
        yield _finding("separator-nobody-answers", separator, says, do, (device.registered_seq,))
    if not details.agreement_on_file and agreement_of(reader, separator) is None:
        says = f"It is {how}, and no agreement on who inspects, repairs and exchanges it is on file."
        do = f"Record it: wasteledger paper contract --place WHERE --separator {separator.separator}"
        yield _finding("separator-no-agreement", separator, says, do, (device.registered_seq,))


def _removal(asked: Sequence[Ordinance], separator: SeparatorStanding, device: Installed) -> Iterator[Finding]:
    said = removal_minimum(asked, device.on)
    if said is None:
        return
    details, least = separator.details, said.provision.at_least_percent
    when = f"a unit installed on {short_day(device.on)}"
    if not device.is_entered:
        when = f"a unit installed by {short_day(device.on)} (its own day is not entered)"
    rule = (
        f"{said.provision.id} of {said.ordinance.title} ({said.provision.citation}) asks at least {least:f} % "
        f"of {when}. {said.provision.standing_of_source}"
    )
    if details.removal_permille is None:
        # A standard that was met says something of it; without either, nothing does.
        weight = Weight.NOTE if details.standard else Weight.WARNING
        says = f"What share of amalgam it holds back is not entered. {rule}"
        do = "Enter it from its certificate (removal), in its line of the register."
        yield _finding("removal-not-entered", separator, says, do, (device.registered_seq,), weight)
        return
    removal = Decimal(details.removal_permille) / 10
    if removal < least:
        says = f"Its removal is entered as {removal} %. {rule}"
        do = "Compare the certificate, and ask the authority."
        yield _finding("removal-below-minimum", separator, says, do, _seqs(device.registered_seq, device.seq))


def _legacy(
    asked: Sequence[Ordinance], separator: SeparatorStanding, device: Installed, today: date
) -> Iterator[Finding]:
    """A note beside the dated duty: what would end it."""
    if separator.details.standard:
        return
    for ordinance, rule in _rules(asked, today):
        before = rule.only_if_before
        if rule.duty != Duty.RETIRE_LEGACY_SEPARATOR or before is None or device.on >= before:
            continue
        day = short_day(device.on)
        since = f"on {day}" if device.is_entered else f"by {day} (its own day is not entered)"
        says = (
            f"It was installed {since}, before {short_day(before)}, and no standard that it meets is entered. "
            f"{_asked_by(ordinance, rule)}"
        )
        do = "If it meets the standard, enter which (standard); else plan for another one."
        yield _finding("legacy-separator", separator, says, do, _seqs(device.registered_seq, device.seq), Weight.NOTE)


def _filling(reader: Reader, separator: SeparatorStanding, today: date) -> Iterator[Finding]:
    """A unit that may be full before long; once it is as likely as not, it stands among what is due."""
    outlook = unit_outlook(reader, separator, today)
    if outlook is None or outlook.early_on is None or outlook.early_on > today + timedelta(days=SOON_DAYS):
        return
    says = (
        f"Its retaining unit may be full soon ({outlook.says}; estimate). "
        f"Last read on {short_day(outlook.read_on)}: {outlook.level_permille / 10:g} %."
    )
    do = f"Read its level: wasteledger separator inspect {separator.separator} --level PERCENT --result RESULT"
    yield _finding("unit-may-be-full", separator, says, do, outlook.seqs[-1:])


def _finding(
    code: str,
    separator: SeparatorStanding,
    says: str,
    do: str,
    seqs: tuple[int, ...],
    weight: Weight = Weight.WARNING,
) -> Finding:
    return Finding(code, f"separator {separator.separator}", says, do, weight, tuple(seq for seq in seqs if seq))


def _seqs(*seqs: int) -> tuple[int, ...]:
    return tuple(sorted(set(seqs)))


def _rules(asked: Sequence[Ordinance], today: date) -> Iterator[tuple[Ordinance, Rule]]:
    for ordinance in asked:
        for rule in ordinance.rules:
            if not rule.is_set_aside and rule.stands_on(today):
                yield ordinance, rule


def _asked_by(ordinance: Ordinance, rule: Rule) -> str:
    return f"{rule.id} of {ordinance.title} ({rule.citation}): {rule.asks} {rule.standing_of_source}"


def _and_others(number: int) -> str:
    return f" {count(number, 'further rule')} in force keep{'s' if number == 1 else ''} it too." if number else ""


def _papers(reader: Reader, separator: str) -> tuple[PaperFiled, ...]:
    """The papers on file that name this separator, or none."""
    bodies = (fact.body for fact in reader.facts_between(kinds=(PaperFiled.KIND,)))
    return tuple(body for body in bodies if isinstance(body, PaperFiled) and body.separator in (None, separator))
