"""What the journal shows of one rule in force that sets a day or a term, and what it lacks, each with its entries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact
from wasteledger.model.filings import DutyDone, Training
from wasteledger.model.values import Body
from wasteledger.office.duty_gaps import gaps_of, has_interval
from wasteledger.office.sight import Evidence, Findings, Sight, where
from wasteledger.office.words import short_day
from wasteledger.ordinance import (
    Duty,
    Event,
    Kind,
    Obligation,
    Ordinance,
    Record,
    Rule,
    Trigger,
    Undated,
    obligations,
    retention,
)
from wasteledger.ordinance.doings import SITE, done_for, twins_of
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

_MILESTONE_ENDS: dict[str, str] = {Duty.MOVE_SATELLITE_EXCESS: "satellite_limit_ended"}

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


def evidence_of_rule(
    sight: Sight, ordinance: Ordinance, rule: Rule, running: tuple[Obligation, ...], *, is_asked: bool = True
) -> Findings:
    """What the journal shows of a rule in force, and what is missing; *running* are its own dated clocks."""
    if rule.kind is Kind.RETENTION:
        return _kept(sight, ordinance, rule)
    return _done(sight, ordinance, rule, running, is_asked=is_asked)


def keeps_any(sight: Sight, ordinance: Ordinance, rule: Rule) -> bool:
    """Whether the term of a rule on records runs for any record, by what the practice was when it was made."""
    alone = (replace(ordinance, rules=(rule,), overrides=()),)
    return bool(obligations(alone, sight.records, circumstances=sight.circumstances))


def looked_for_of_rule(rule: Rule) -> tuple[str, ...]:
    """What is looked for, that may be missing, of a rule that sets a day or a term."""
    if rule.kind is Kind.RETENTION:
        there = [f"{one.value.replace('_', ' ')} on record" for one in rule.records if one in _WANTED]
        return (*there, *dict.fromkeys(_LACKS[one] for one in rule.records if one in _LACKS))
    found = ["days that have passed"]
    if isinstance(rule.due, ByManual):
        found.append("intervals of the manual that are not entered")
    if not _MAY_NEVER.issuperset(rule.triggers):
        found.append("an event that starts its clock")
    if has_interval(rule):
        found.append("gaps of the last 12 months that were longer than its interval")
    if rule.duty in FILINGS:
        found.append("filings that name no paper")
    if rule.duty == Duty.REPAIR_SEPARATOR:
        found.append(_LACKS[Record.SEPARATOR_REPAIR])
    if rule.duty == Duty.INSPECT_SEPARATOR:
        found.append(_LACKS[Record.SEPARATOR_INSPECTION])
    return tuple(found)


# -- rules with a day --------------------------------------------------------------------------------------------------


def _done(
    sight: Sight, ordinance: Ordinance, rule: Rule, running: tuple[Obligation, ...], *, is_asked: bool
) -> Findings:
    shows: list[Evidence] = []
    missing = [
        Evidence(f"{one.subject}: {short_day(one.due_on)} has passed, and nothing on record answers it.", _seqs(one))
        for one in running
        if one.due_on < sight.today
    ]
    doings = list(_doings(sight, ordinance, rule))
    for fact in _newest_of_each(doings):
        told = sight.told(fact)
        shows.append(Evidence(f"Last: {told.says}", told.seqs))
    starts = _starts(sight, ordinance, rule)
    if not running and is_asked:
        shows += _ended(starts, doings, sight, rule)
        waits = _waits_for(starts, rule)
        (shows if _MAY_NEVER.issuperset(rule.triggers) else missing).extend(waits)
    if has_interval(rule):
        regular, irregular = gaps_of(sight, rule, doings, starts)
        shows += regular
        missing += irregular
    if rule.duty in FILINGS:
        bare = [fact.seq for fact in doings if isinstance(fact.body, DutyDone) and not fact.body.document]
        missing += where(bare, "Recorded as done without naming the paper")
    if rule.duty == Duty.REPAIR_SEPARATOR:
        missing += _gaps_of_repairs(sight)
    if rule.duty == Duty.INSPECT_SEPARATOR:
        missing += _gaps_of_inspections(sight)
    return shows, missing


def _seqs(obligation: Obligation) -> tuple[int, ...]:
    return (obligation.trigger_seq,) if obligation.trigger_seq else ()


def _doings(sight: Sight, ordinance: Ordinance, rule: Rule) -> Iterator[Fact]:
    """What was done for this rule, oldest first; a filing for another rule of the ordinance is none of it."""
    recorded = (one for one in sight.started if one.event is Event.DUTY_DONE)
    counts = {one.seq for one in done_for(recorded, ordinance, rule, twins_of(sight.rules))}
    for fact in sight.facts(*_DOING.get(rule.duty, ()), DutyDone):
        match fact.body:
            case DutyDone() | Training():
                does = fact.seq in counts
            case kinds.Milestone(what=what):
                does = fact.seq in counts or (what == _MILESTONE_ENDS.get(rule.duty))
            case kinds.Repair(action=action):
                does = action == "replaced" or rule.duty == Duty.REPAIR_SEPARATOR
            case _:
                does = True
        if does:
            yield fact


def _newest_of_each(facts: Iterable[Fact]) -> list[Fact]:
    """The newest fact of each separator; of anything else the newest alone."""
    newest: dict[str, Fact] = {}
    for fact in facts:
        newest[getattr(fact.body, "separator", None) or ""] = fact
    return list(newest.values())


def _ended(starts: list[Trigger], doings: list[Fact], sight: Sight, rule: Rule) -> Iterator[Evidence]:
    """Why no clock runs though something that would start it is on record."""
    for start in starts:
        subject = "" if start.subject == SITE else f", {start.subject}"
        when, seqs = f"{start.event.words}{subject}, {short_day(start.on)}", (start.seq,) if start.seq else ()
        if rule.only_if_before is not None and start.on >= rule.only_if_before:
            yield Evidence(f"No clock runs: {when}, was not before {short_day(rule.only_if_before)}.", seqs)
        elif not rule.stands_on(start.on):
            yield Evidence(f"No clock runs: the rule does not stand on the day of {when}.", seqs)
        elif not isinstance(rule.due, ByManual):
            since = [fact.seq for fact in doings if fact.happened_at.astimezone(sight.zone).date() >= start.on]
            yield Evidence(f"Its clock ran from {when}; what it asks was done since.", (*seqs, *since[-1:]))


def _starts(sight: Sight, ordinance: Ordinance, rule: Rule) -> list[Trigger]:
    events = {*rule.triggers, *({rule.or_when} if rule.or_when else ())}
    return [
        one
        for one in sight.started
        if one.event in events and one.ordinance in ("", ordinance.id) and one.duty in ("", rule.duty)
    ]


def _waits_for(starts: list[Trigger], rule: Rule) -> list[Evidence]:
    if starts:
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
            words += f", {len(terms)} of them under this rule" if len(terms) < len(made) else ""
            words += f", {over} past this rule's term, the last kept to {short_day(terms[-1].due_on)}"
            words += f"; {terms[-1].condition}" if terms[-1].condition else ""
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
        until = short_day(other.due_on)
        found.append(Evidence(f"{_told_of(other)} keeps the last of them longer, to {until}."))
    others = (one for one in kept.lasting if one.rule != rule.id)
    return found + [Evidence(f"{_told_of(one)} says of it: {one.why}") for one in others]


def _told_of(other: Obligation | Undated) -> str:
    return f"{other.rule} of {other.ordinance_title}{'' if other.confirmed else ' (NOT CONFIRMED)'}"


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

_LACKS: dict[Record, str] = {
    Record.SEPARATOR_REPAIR: "repairs without make and model",
    Record.SEPARATOR_INSPECTION: "inspections that found something and name no follow-up",
    Record.PICKUP: "pickups without the number of a document",
    Record.TRAINING: "trainings that name neither who held them nor a paper",
}
