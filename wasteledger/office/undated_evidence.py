"""What the register and the journal show of a provision that sets no day: cleaners, containers, papers, separators."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, PaperKind, Statement, Training
from wasteledger.model.register import CleanerDetails, ContainerTypeDetails
from wasteledger.office.generator import MONTHS_SHOWN, untold_months, untold_words
from wasteledger.office.other_waste import Month
from wasteledger.office.separator_history import installed
from wasteledger.office.sight import Evidence, Findings, Sight, category_words, where
from wasteledger.office.words import short_day
from wasteledger.office.workplace import site_details
from wasteledger.ordinance import Ordinance, Provision, cleaner_findings
from wasteledger.ordinance.circumstances import left_out
from wasteledger.ordinance.citations import citation_keys, keys_of
from wasteledger.ordinance.rules import (
    Category,
    CleanerLimit,
    ContainerNeeds,
    Practice,
    RemovalMinimum,
    ReportContents,
    Scope,
    SharingRule,
    ShipmentPaper,
    Uncounted,
)
from wasteledger.ordinance.words import ContainerNeed, ReportKind, ShipmentName, ShippingPaper, ShownBy, Together

_PAPERS = {ReportKind.ONE_TIME: PaperKind.ONE_TIME_REPORT, ReportKind.CERTIFICATION: PaperKind.CERTIFICATION}

_UNTOLD = "months that are over without a word on other waste"

_SHOWN = 3
"""So many trainings or papers are shown, the newest; history has the others."""


def evidence_of_figures(sight: Sight, ordinance: Ordinance, provision: Provision) -> Findings:
    """What is shown of a provision in force that sets no day, and what is missing."""
    look = _LOOKS.get(type(provision))
    return look(sight, ordinance, provision) if look is not None else ([], [])


def looked_for_of_figures(ordinance: Ordinance, provision: Provision) -> tuple[str, ...]:
    """What is looked for, that may be missing, of a provision that sets no day."""
    if isinstance(provision, Practice):
        shown_by = (_what_shows(one) for one in provision.shown_by)
        return (*shown_by, *((_UNTOLD,) if _is_of_the_count(ordinance, provision) else ()))
    if isinstance(provision, Category | Uncounted):
        return (_UNTOLD,) if ordinance.categories else ()
    return _LOOKED_FOR.get(type(provision), ())


def _cleaners(sight: Sight, ordinance: Ordinance, limit: CleanerLimit) -> Findings:
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    lines = [line for line in sight.reader.lines("cleaner") if isinstance(line.details, CleanerDetails)]
    for line in lines:
        details = line.details
        assert isinstance(details, CleanerDetails)
        spoken = [
            one.words
            for one in cleaner_findings(
                sight.rules,
                ph_low_tenths=details.ph_low_tenths,
                ph_high_tenths=details.ph_high_tenths,
                oxidiser=details.oxidiser,
                chemistry=details.chemistry,
            )
            if (one.ordinance, one.rule) == (ordinance.id, limit.id)
        ]
        used = sight.reader.facts_about(Subject("cleaner", line.ref))
        drawn = [one for one in used if isinstance(one.body, kinds.LineCleaning)]
        last = f"; drawn last on {sight.day_of(drawn[-1])}" if drawn else "; not drawn yet"
        words = " ".join(spoken) if spoken else "By the register this provision says nothing against it."
        seqs = (line.seq, *([drawn[-1].seq] if drawn else []))
        (missing if spoken else shows).append(Evidence(f"Cleaner {line.ref}: {words.rstrip('.')}{last}.", seqs))
    if not lines:
        missing.append(Evidence("No line cleaner is registered."))
    return shows, missing


def _removal(sight: Sight, ordinance: Ordinance, minimum: RemovalMinimum) -> Findings:
    del ordinance
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    for one in sight.reader.separators():
        details, name = one.details, f"Separator {one.separator}"
        installed_on = details.installed_on
        if installed_on is None and (minimum.installed_from or minimum.installed_before):
            missing.append(Evidence(f"{name}: the day of its installation is not entered."))
            continue
        if installed_on is not None and (
            (minimum.installed_from is not None and installed_on < minimum.installed_from)
            or (minimum.installed_before is not None and installed_on >= minimum.installed_before)
        ):
            shows.append(Evidence(f"{name}: installed on {short_day(installed_on)}, of which this does not speak."))
        elif details.removal_permille is None:
            missing.append(Evidence(f"{name}: how much it holds back is not entered."))
        else:
            entered = f"{name}: {details.removal_permille / 10:g} percent is entered"
            least = f"{minimum.at_least_percent} percent"
            if details.removal_permille < minimum.at_least_percent * 10:
                missing.append(Evidence(f"{entered}, below {least}."))
            else:
                shows.append(Evidence(f"{entered}, against {least}."))
    return shows, missing


def _containers(sight: Sight, ordinance: Ordinance, needs: ContainerNeeds) -> Findings:
    del ordinance
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    asked = [need for need in needs.needs if need is not ContainerNeed.CLOSED]
    for line in sight.reader.lines("container_type"):
        details = line.details
        if not isinstance(details, ContainerTypeDetails) or not _meets(needs.streams, details.streams) or not asked:
            continue
        name = f"Container type {line.ref}"
        if details.features is None:
            missing.append(Evidence(f"{name}: nothing is entered of what it is like (features).", (line.seq,)))
            continue
        lacks = [need.words for need in asked if need.value not in details.features]
        if lacks:
            missing.append(Evidence(f"{name}: not entered as {', '.join(lacks)}.", (line.seq,)))
        else:
            shows.append(Evidence(f"{name}: entered as {', '.join(need.words for need in asked)}.", (line.seq,)))
    return shows, missing


def _sharing(sight: Sight, ordinance: Ordinance, sharing: SharingRule) -> Findings:
    del ordinance
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    for container in sight.reader.containers("open", "closed"):
        if not set(sharing.streams) <= set(container.streams):
            continue
        words = f"Container {container.container} is open to both." if container.status == "open" else ""
        words = words or f"Container {container.container} was open to both."
        seqs = (container.opened_seq,)
        (shows if sharing.together is Together.YES else missing).append(Evidence(words, seqs))
    if not shows and not missing:
        shows.append(Evidence("No container here is for both of them."))
    return shows, missing


def _papers(sight: Sight, ordinance: Ordinance, paper: ShipmentPaper) -> Findings:
    del ordinance
    left = [(one, one.body) for one in sight.facts(kinds.PickupReleased)]
    released = [(one.seq, body) for one, body in left if isinstance(body, kinds.PickupReleased)]
    receipts = [one.body for one in sight.facts(kinds.Receipt) if isinstance(one.body, kinds.Receipt)]
    shows = where([seq for seq, _ in released], "Pickups that left")
    missing: list[Evidence] = []
    if not released:
        return [Evidence("No pickup has left yet.")], missing
    if paper.document not in (None, ShippingPaper.NONE, ShippingPaper.OWN_RECORD, ShippingPaper.RECYCLING_PROOF):
        missing += where([seq for seq, body in released if not body.document], "Without the number of a document")
    if paper.document is ShippingPaper.RECYCLING_PROOF:
        proofs = {one.pickup for one in receipts if one.proves in ("recycled", "both")}
        missing += where([seq for seq, body in released if body.pickup not in proofs], "Without proof of recycling")
    if paper.weight or ShipmentName.WEIGHT in paper.names:
        weighed = {one.pickup for one in receipts if one.containers or one.total_mg is not None}
        bare = [
            seq
            for seq, body in released
            if body.pickup not in weighed and any(one.basis == "estimate" for one in body.containers)
        ]
        missing += where(bare, "With an estimate where a weight is asked")
    if ShipmentName.COLLECTOR_ADDRESS in paper.names:
        missing += where([seq for seq, body in released if not body.carrier.address], "Without the collector's address")
    if ShipmentName.FACILITY_ADDRESS in paper.names:
        bare = [seq for seq, body in released if not body.facility.address]
        missing += where(bare, "Without the facility's address")
    return shows, missing


def _report(sight: Sight, ordinance: Ordinance, report: ReportContents) -> Findings:
    shows: list[Evidence] = []
    for fact in sight.facts(DutyDone, PaperFiled, kinds.Milestone):
        match fact.body:
            case DutyDone(duty=duty, ordinance=whose):
                wanted = duty == report.duty and whose in (None, ordinance.id)
            case PaperFiled(what=what):
                wanted = what == _PAPERS.get(report.report)
            case kinds.Milestone(what=what):
                wanted = what == "one_time_report_filed" and report.report is ReportKind.ONE_TIME
            case _:
                wanted = False
        if wanted:
            shows.append(sight.told(fact))
    worksheet = Evidence("What the register and the journal have for it: wasteledger worksheet.")
    return [*shows, worksheet], ([] if shows else [Evidence("No filing of it is on record.")])


def _whom(sight: Sight, ordinance: Ordinance, scope: Scope) -> Findings:
    del scope
    site = site_details(sight.reader)
    asked = (
        ("what is practised here (specialties)", site.specialties),
        ("where the wastewater goes (wastewater)", site.wastewater),
        ("whether this is a mobile unit (mobile)", site.mobile),
        ("whether amalgam is removed in emergencies only (only_emergencies)", site.only_emergencies),
    )
    missing = [Evidence(f"Not entered: {what}; no rule is left out for it.") for what, said in asked if said is None]
    out = left_out(ordinance, sight.circumstances)
    if out is None:
        return [Evidence("By the register nothing leaves this practice out.")], missing
    stays = f" These duties stay: {', '.join(out.leaves)}." if out.leaves else ""
    return [Evidence(f"By the register {out.why}, so it speaks of others.{stays}")], missing


def _count(sight: Sight, ordinance: Ordinance, provision: Provision) -> Findings:
    del provision
    if not ordinance.categories:
        return [Evidence("Month by month: wasteledger generator.")], []
    now = [Evidence(f"By the count of the months, {category_words(sight, ordinance)}.")]
    shown_from = str(Month.of(sight.today).plus(1 - MONTHS_SHOWN))
    told = [
        fact.seq
        for fact in sight.facts(OtherWaste)
        if isinstance(fact.body, OtherWaste) and fact.body.month >= shown_from
    ]
    now += where(told, f"Other waste typed in for the last {MONTHS_SHOWN} months")
    untold = untold_months(sight.reader, sight.today, (replace(ordinance, overrides=()),))
    missing = [Evidence(" ".join(untold_words(untold)))] if untold else []
    return [*now, Evidence("Month by month: wasteledger generator.")], missing


def _is_of_the_count(ordinance: Ordinance, practice: Practice) -> bool:
    """Whether a practice stands in a clause that all categories of its ordinance rest on: how months are counted."""
    if not ordinance.categories:
        return False
    clauses = frozenset.intersection(*(keys_of(category) for category in ordinance.categories))
    keys = citation_keys(practice.citation)
    return any(key == around or key.startswith(f"{around}(") for key in keys for around in clauses)


def _always(sight: Sight, ordinance: Ordinance, practice: Practice) -> Findings:
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    is_of_the_count = _is_of_the_count(ordinance, practice)
    if is_of_the_count:
        shows, missing = _count(sight, ordinance, practice)
    for one in practice.shown_by:
        found = _facts_that_show(sight, one)
        for fact in found[-_SHOWN:]:
            holds = not isinstance(fact.body, Statement) or fact.body.holds
            (shows if holds else missing).append(sight.told(fact))
        registered = [] if found else list(_registered(sight, one))
        shows += registered
        if not found and not registered:
            words = f"There is no {_what_shows(one)} on record. It is recorded with {_recorded_with(one)}."
            missing.append(Evidence(words))
    if not practice.shown_by and not is_of_the_count:
        shows.append(Evidence("It sets no day, and its file names no statement, training or paper that shows it."))
    return shows, missing


def _facts_that_show(sight: Sight, wanted: ShownBy) -> list[Fact]:
    """Trainings and papers, oldest first; of statements the last alone, since it takes the place of the others."""
    if wanted is ShownBy.TRAINING:
        return list(sight.facts(Training))
    if wanted.value in {one.value for one in PaperKind}:
        papers = sight.facts(PaperFiled)
        return [fact for fact in papers if isinstance(fact.body, PaperFiled) and fact.body.what == wanted.value]
    said = sight.facts(Statement)
    return [fact for fact in said if isinstance(fact.body, Statement) and fact.body.topic == wanted.value][-1:]


def _registered(sight: Sight, wanted: ShownBy) -> Iterator[Evidence]:
    """Papers of a separator that its line of the register says are on file."""
    for one in sight.reader.separators():
        on_file = {
            ShownBy.CERTIFICATE: one.details.certificate_on_file,
            ShownBy.OPERATING_MANUAL: one.details.manual_on_file,
        }
        if on_file.get(wanted):
            words = f"Separator {one.separator}: {wanted.value.replace('_', ' ')} on file, by the register."
            seq = installed(sight.reader, one, sight.zone).registered_seq
            yield Evidence(words, (seq,) if seq else ())


def _what_shows(wanted: ShownBy) -> str:
    words = wanted.value.replace("_", " ")
    if wanted is ShownBy.TRAINING:
        return "training"
    if wanted.value in {one.value for one in PaperKind}:
        return f"paper ({words})"
    return f"statement ({words})"


def _recorded_with(wanted: ShownBy) -> str:
    if wanted is ShownBy.TRAINING:
        return "wasteledger training"
    is_paper = wanted.value in {one.value for one in PaperKind}
    return f"wasteledger {'paper' if is_paper else 'statement'} {wanted.value}"


def _meets(spoken_of: tuple[str, ...], streams: tuple[str, ...]) -> bool:
    return not spoken_of or not set(spoken_of).isdisjoint(streams)


_LOOKS: dict[type[Provision], Callable[[Sight, Ordinance, Any], Findings]] = {
    Scope: _whom,
    CleanerLimit: _cleaners,
    RemovalMinimum: _removal,
    ContainerNeeds: _containers,
    SharingRule: _sharing,
    ShipmentPaper: _papers,
    ReportContents: _report,
    Category: _count,
    Uncounted: _count,
    Practice: _always,
}

_LOOKED_FOR: dict[type[Provision], tuple[str, ...]] = {
    Scope: ("what the register says of the practice",),
    CleanerLimit: ("line cleaners that it speaks against",),
    RemovalMinimum: ("the installation and the removal of each separator",),
    ContainerNeeds: ("what the container types are like (features)",),
    SharingRule: ("containers that are open to both",),
    ShipmentPaper: ("what the entries of pickups should name",),
    ReportContents: ("a filing of it",),
}
