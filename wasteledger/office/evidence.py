"""What the journal shows of one rule in force that sets a day or a term, and what it lacks, each with its entries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact
from wasteledger.model.filings import DutyDone, Training
from wasteledger.model.values import Body
from wasteledger.office.provision_words import spelt
from wasteledger.office.sight import Evidence, Findings, Sight, where
from wasteledger.ordinance import (
    Duty,
    Event,
    Kind,
    Obligation,
    Ordinance,
    Record,
    Rule,
    Trigger,
    obligations,
    retention,
)
from wasteledger.ordinance.circumstances import condition_of, left_out
from wasteledger.ordinance.clocks import SITE
from wasteledger.ordinance.rules import ByManual
from wasteledger.ordinance.words import FILINGS

_DOING: dict[str, tuple[type[Body], ...]] = {
    Duty.INSPECT_SEPARATOR: (kinds.SeparatorInspection,),
    Duty.REPAIR_SEPARATOR: (kinds.Repair,),
    Duty.RETIRE_LEGACY_SEPARATOR: (kinds.Repair,),
    Duty.REPLACE_RETAINING_UNIT: (kinds.UnitReplaced, kinds.Repair),
    Duty.SHIP_CONTAINER: (kinds.PickupReleased,),
    Duty.SHIP_STOCK: (kinds.PickupReleased,),
    Duty.CLEAN_LINES: (kinds.LineCleaning,),
    Duty.TRAIN_STAFF: (Training,),
    Duty.ONE_TIME_REPORT: (kinds.Milestone,),
    Duty.MOVE_SATELLITE_EXCESS: (kinds.Milestone,),
    Duty.CHASE_RECEIPT: (kinds.Receipt,),
    Duty.CHASE_RECEIPT_AGAIN: (kinds.Receipt,),
    Duty.CHASE_RECEIPT_LAST: (kinds.Receipt,),
}

_MAY_NEVER = frozenset(
    {
        Event.OWNERSHIP_TRANSFERRED,
        Event.MALFUNCTION_FOUND,
        Event.RETAINING_UNIT_FULL,
        Event.CONTAINER_FULL,
        Event.CONTAINER_FIRST_WASTE,
        Event.STOCK_LIMIT_REACHED,
        Event.SATELLITE_LIMIT_REACHED,
        Event.PICKUP_RELEASED,
        Event.PICKUP_RECEIVED,
    }
)
"""Nothing is missing where none of these is on record, or none is open any more."""

_WANTED = frozenset({Record.OPERATING_MANUAL, Record.ONE_TIME_REPORT})
"""Records that are there from the beginning; of the others there may be none yet."""

_MILESTONES: dict[str, str] = {
    Duty.ONE_TIME_REPORT: "one_time_report_filed",
    Duty.MOVE_SATELLITE_EXCESS: "satellite_limit_ended",
}

_RECORDED_WITH: dict[Event, str] = {
    Event.FIRST_DISCHARGE: "wasteledger milestone first_discharge",
    Event.OWNERSHIP_TRANSFERRED: "wasteledger milestone ownership_transferred",
    Event.SEPARATOR_INSTALLED: "a separator in the practice plan, with installed_on",
    Event.SEPARATOR_INSPECTED: "wasteledger separator inspect",
    Event.SEPARATOR_TESTED: "wasteledger done",
    Event.MALFUNCTION_FOUND: "wasteledger separator inspect --result malfunction",
    Event.RETAINING_UNIT_REPLACED: "wasteledger separator replace",
    Event.RETAINING_UNIT_FULL: "wasteledger separator inspect --level 100%",
    Event.CONTAINER_FIRST_WASTE: "the first swap or deposit into a container",
    Event.CONTAINER_FULL: "wasteledger container close --why full",
    Event.CONTAINERS_LOOKED_AT: "wasteledger done",
    Event.STOCK_LIMIT_REACHED: "wasteledger milestone stock_limit_reached",
    Event.SATELLITE_LIMIT_REACHED: "wasteledger milestone satellite_limit_reached",
    Event.PICKUP_RELEASED: "wasteledger pickup release",
    Event.PICKUP_RECEIVED: "wasteledger pickup receive",
    Event.LAST_PICKUP: "wasteledger pickup release",
    Event.LINE_CLEANED: "wasteledger line-cleaning",
    Event.IN_FORCE: "the ordinance's own line in the register",
    Event.DUTY_DONE: "wasteledger done",
}


def evidence_of_rule(sight: Sight, ordinance: Ordinance, rule: Rule, running: tuple[Obligation, ...]) -> Findings:
    """What the journal shows of a rule in force, and what is missing; *running* are its own dated clocks."""
    return _kept(sight, ordinance, rule) if rule.kind is Kind.RETENTION else _done(sight, ordinance, rule, running)


# -- rules with a day --------------------------------------------------------------------------------------------------


def _done(sight: Sight, ordinance: Ordinance, rule: Rule, running: tuple[Obligation, ...]) -> Findings:
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    doings = list(_doings(sight, ordinance, rule))
    for fact in _newest_of_each(doings):
        told = sight.told(fact)
        shows.append(Evidence(f"Last: {told.says}", told.seqs))
    not_asked = list(_not_asked(sight, ordinance, rule))
    shows += not_asked
    if not running and not not_asked:
        shows += _ended(sight, ordinance, rule)
        waits = _waits_for(sight, ordinance, rule)
        (shows if _MAY_NEVER.issuperset(rule.triggers) else missing).extend(waits)
    if rule.duty in FILINGS:
        bare = [fact.seq for fact in doings if isinstance(fact.body, DutyDone) and not fact.body.document]
        missing += where(bare, "Recorded as done without naming the paper")
    if rule.duty == Duty.REPAIR_SEPARATOR:
        missing += _gaps_of_repairs(sight)
    if rule.duty == Duty.INSPECT_SEPARATOR:
        missing += _gaps_of_inspections(sight)
    return shows, missing


def _doings(sight: Sight, ordinance: Ordinance, rule: Rule) -> Iterator[Fact]:
    for fact in sight.facts(*_DOING.get(rule.duty, ()), DutyDone):
        match fact.body:
            case DutyDone(duty=duty, ordinance=whose):
                if duty == rule.duty and (rule.duty not in FILINGS or whose in (None, ordinance.id)):
                    yield fact
            case kinds.Milestone(what=what):
                if what == _MILESTONES.get(rule.duty):
                    yield fact
            case kinds.Repair(action=action):
                if action == "replaced" or rule.duty == Duty.REPAIR_SEPARATOR:
                    yield fact
            case _:
                yield fact


def _newest_of_each(facts: Iterable[Fact]) -> list[Fact]:
    """The newest fact of each separator; of anything else the newest alone."""
    newest: dict[str, Fact] = {}
    for fact in facts:
        newest[getattr(fact.body, "separator", None) or ""] = fact
    return list(newest.values())


def _not_asked(sight: Sight, ordinance: Ordinance, rule: Rule) -> Iterator[Evidence]:
    """Why a rule in force asks nothing of this practice."""
    if rule.is_set_aside:
        yield Evidence(f"It is not followed here. {rule.override}")
        return
    out = left_out(ordinance, sight.circumstances)
    if out is not None and rule.duty not in out.leaves:
        yield Evidence(f"By the register {out.why}, so {out.scope.id} ({out.scope.citation}) leaves this practice out.")
    if condition_of(rule, ordinance, sight.circumstances) is None:
        category = sight.circumstances.categories.get(ordinance.id)
        if rule.only_for and category is not None and category not in rule.only_for:
            yield Evidence(f"It is asked of {' and '.join(rule.only_for)} only; the category here is {category}.")
        else:
            yield Evidence("The way to the facility, as entered, does not bring this rule in.")


def _ended(sight: Sight, ordinance: Ordinance, rule: Rule) -> Iterator[Evidence]:
    """Why no clock runs though something that would start it is on record."""
    for start in _starts(sight, ordinance, rule):
        subject = "" if start.subject == SITE else f", {start.subject}"
        when, seqs = f"{start.event.words}{subject}, {spelt(start.on)}", (start.seq,) if start.seq else ()
        if rule.only_if_before is not None and start.on >= rule.only_if_before:
            yield Evidence(f"No clock runs: {when}, was not before {spelt(rule.only_if_before)}.", seqs)
        elif not rule.stands_on(start.on):
            yield Evidence(f"No clock runs: the rule does not stand on the day of {when}.", seqs)
        elif not isinstance(rule.due, ByManual):
            yield Evidence(f"Its clock ran from {when}; what it asks was done since.", seqs)


def _starts(sight: Sight, ordinance: Ordinance, rule: Rule) -> list[Trigger]:
    events = {*rule.triggers, *({rule.or_when} if rule.or_when else ())}
    return [
        one
        for one in sight.started
        if one.event in events and one.ordinance in ("", ordinance.id) and one.duty in ("", rule.duty)
    ]


def _waits_for(sight: Sight, ordinance: Ordinance, rule: Rule) -> list[Evidence]:
    if _starts(sight, ordinance, rule):
        return []
    events = (*rule.triggers, *((rule.or_when,) if rule.or_when else ()))
    recorded = " or ".join(dict.fromkeys(_RECORDED_WITH[event] for event in events if event in _RECORDED_WITH))
    words = f"No clock runs: nothing shows {' or '.join(event.words for event in events)}"
    return [Evidence(f"{words}. It is recorded with {recorded}." if recorded else f"{words}.")]


# -- how long records are kept -----------------------------------------------------------------------------------------


def _kept(sight: Sight, ordinance: Ordinance, rule: Rule) -> Findings:
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    by_record: defaultdict[Record, list[Trigger]] = defaultdict(list)
    for trigger in sight.records:
        if trigger.record is not None and trigger.record in rule.records:
            by_record[trigger.record].append(trigger)
    shows += _not_asked(sight, ordinance, rule)
    alone = (replace(ordinance, rules=(rule,), overrides=()),)
    for record in rule.records:
        made, name = sorted(by_record[record], key=lambda one: (one.on, one.seq)), record.value.replace("_", " ")
        if not made:
            (missing if record in _WANTED else shows).append(Evidence(f"{name}: none on record."))
            continue
        terms = obligations(alone, made, circumstances=sight.circumstances)
        over = sum(term.due_on < sight.today for term in terms)
        words = f"{name}: {len(made)} on record"
        if terms:
            words += f", {over} past this rule's term, the last kept to {spelt(terms[-1].due_on)}"
        seqs = sorted({one.seq for one in made if one.seq})
        shows.append(Evidence(f"{words}.", tuple(seqs)))
        shows += _kept_longer(sight, terms[-1] if terms else None, rule, record, made[-1])
    for record, gaps in _GAPS.items():
        if record in rule.records:
            missing += gaps(sight)
    return shows, missing


def _kept_longer(sight: Sight, mine: Obligation | None, rule: Rule, record: Record, newest: Trigger) -> list[Evidence]:
    """What another rule says, where it keeps the same record for longer; *mine* is this rule's own term of it."""
    kept, found = retention(sight.rules, record, newest.on, circumstances=sight.circumstances), []
    other = kept.longest
    if other is not None and mine is not None and other.due_on > mine.due_on:
        until = spelt(other.due_on)
        found.append(Evidence(f"{other.rule} of {other.ordinance_title} keeps the last of them longer, to {until}."))
    others = (one for one in kept.lasting if one.rule != rule.id)
    return found + [Evidence(f"{one.rule} of {one.ordinance_title} says of it: {one.why}") for one in others]


def _gaps_of_repairs(sight: Sight) -> list[Evidence]:
    bare = [
        fact.seq
        for fact in sight.facts(kinds.Repair)
        if isinstance(fact.body, kinds.Repair) and not (fact.body.make.strip() and fact.body.model.strip())
    ]
    return where(bare, "Repairs without make and model")


def _gaps_of_inspections(sight: Sight) -> list[Evidence]:
    bare = [
        fact.seq
        for fact in sight.facts(kinds.SeparatorInspection)
        if isinstance(fact.body, kinds.SeparatorInspection)
        and fact.body.result != "in order"
        and not (fact.body.follow_up or "").strip()
    ]
    return where(bare, "Inspections that found something and name no follow-up")


def _gaps_of_pickups(sight: Sight) -> list[Evidence]:
    bare = [
        fact.seq
        for fact in sight.facts(kinds.PickupReleased)
        if isinstance(fact.body, kinds.PickupReleased) and not fact.body.document
    ]
    return where(bare, "Pickups without the number of a document")


def _gaps_of_training(sight: Sight) -> list[Evidence]:
    bare = [
        fact.seq
        for fact in sight.facts(Training)
        if isinstance(fact.body, Training) and not (fact.body.held_by or fact.body.document)
    ]
    return where(bare, "Trainings that name neither who held them nor a paper")


_GAPS: dict[Record, Callable[[Sight], list[Evidence]]] = {
    Record.SEPARATOR_REPAIR: _gaps_of_repairs,
    Record.SEPARATOR_INSPECTION: _gaps_of_inspections,
    Record.PICKUP: _gaps_of_pickups,
    Record.TRAINING: _gaps_of_training,
}
