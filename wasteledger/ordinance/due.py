"""From what the journal shows to dated obligations.

The journal's side comes as plain values: a `Trigger` for every event whose clock still runs. What is done is simply not
passed in, or its duty is named in `Trigger.done`. Each rule gives a day of its own; among rules that ask the same duty
for the same subject the earliest deadline binds, and the longest retention.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from wasteledger.ordinance.days import (
    Holidays,
    Interval,
    WorkCalendar,
    deadline_after,
    deadline_with_holidays,
    keep_until,
)
from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.obligations import Basis, Obligation, OtherDay, Retention, Trigger, Undated
from wasteledger.ordinance.rules import After, ByManual, OnDay, Ordinance, Rule, WhileLasting
from wasteledger.ordinance.words import Event, Force, Kind, MakerTask, Record


def obligations(
    ordinances: Sequence[Ordinance],
    triggers: Iterable[Trigger],
    calendar: WorkCalendar | None = None,
    holidays: Sequence[Holidays] = (),
) -> tuple[Obligation, ...]:
    """Every dated obligation, soonest first; the ones that bind are marked, and name the others.

    Args:
        ordinances: All that are in force; overrides among them are laid over here.
        triggers: Events whose clock runs, in any order.
        calendar: When the practice works, for the advised day; Monday to Friday when left out.
        holidays: Known holidays, for the second reading of business days.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    calendar = calendar or WorkCalendar()
    found = [
        obligation
        for clock in _running(ordinances, triggers)
        if (obligation := _dated(clock, calendar, holidays)) is not None
    ]
    groups: defaultdict[tuple[object, ...], list[Obligation]] = defaultdict(list)
    for obligation in found:
        groups[_group(obligation)].append(obligation)
    return tuple(sorted((one for group in groups.values() for one in _bound(group)), key=_soonest))


def undated(ordinances: Sequence[Ordinance], triggers: Iterable[Trigger]) -> tuple[Undated, ...]:
    """Duties whose clock runs without a day: the manual's interval is not entered, or something lasts.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    found = []
    for clock in _running(ordinances, triggers):
        ordinance, rule, start = clock.ordinance, clock.rule, clock.start
        match rule.due:
            case WhileLasting(lasting):
                why, is_gap = f"Kept {lasting.words}.", False
            case ByManual(task) if _manual_interval(start, task) is None:
                why, is_gap = f"The manual's {task} interval is not entered for {start.subject}.", True
            case _:
                continue
        found.append(
            Undated(
                rule=rule.id,
                title=rule.title,
                asks=rule.asks,
                ordinance=ordinance.id,
                ordinance_title=ordinance.title,
                duty=rule.duty,
                kind=rule.kind,
                subject=start.subject,
                trigger_on=start.on,
                trigger_seq=start.seq,
                why=why,
                is_gap=is_gap,
                citation=rule.citation,
                confirmed=rule.confirmed,
                standing_of_source=rule.standing_of_source,
            )
        )
    return tuple(sorted(found, key=lambda one: (not one.is_gap, one.ordinance, one.rule, one.subject, one.trigger_seq)))


def binding(found: Iterable[Obligation]) -> tuple[Obligation, ...]:
    """Of *found* those that bind, in the same order."""
    return tuple(obligation for obligation in found if obligation.binds)


def retention(ordinances: Sequence[Ordinance], record: Record, made_on: date, *, seq: int = 0) -> Retention:
    """How long the ordinances in force keep a record of that class made on that day.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    made = (Trigger(Event.RECORD_MADE, made_on, record.value, seq, record=record),)
    terms = [term for term in obligations(ordinances, made) if term.kind is Kind.RETENTION]
    lasting = tuple(one for one in undated(ordinances, made) if one.kind is Kind.RETENTION)
    return Retention(max(terms, key=lambda term: term.due_on, default=None), lasting)


@dataclass(frozen=True, slots=True)
class _Clock:
    """One rule, started by one trigger; *second* is the event that may make it due sooner."""

    ordinance: Ordinance
    rule: Rule
    start: Trigger
    second: Trigger | None


@dataclass(frozen=True, slots=True)
class _Day:
    due_on: date
    basis: Basis
    counted: str
    with_holidays_on: date | None = None


def _running(ordinances: Sequence[Ordinance], triggers: Iterable[Trigger]) -> Iterator[_Clock]:
    by_event: defaultdict[Event, list[Trigger]] = defaultdict(list)
    for trigger in triggers:
        by_event[trigger.event].append(trigger)
    for ordinance in in_force(ordinances):
        for rule in ordinance.rules:
            if not rule.is_set_aside:
                yield from _clocks(ordinance, rule, by_event)


def _clocks(ordinance: Ordinance, rule: Rule, by_event: dict[Event, list[Trigger]]) -> Iterator[_Clock]:
    starts = [start for event in rule.triggers for start in by_event.get(event, []) if _starts(rule, start)]
    if rule.recurs:
        starts = list(_latest_by_subject(starts).values())
    seconds: dict[str, Trigger] = {}
    if rule.or_when:
        for second in sorted(by_event.get(rule.or_when, []), key=lambda second: second.on, reverse=True):
            if rule.duty not in second.done:
                seconds[second.subject] = second
    for start in starts:
        yield _Clock(ordinance, rule, start, seconds.get(start.subject))
    # A second event makes the duty due even where no start is on record: a full unit is full, whenever it came.
    for subject in seconds.keys() - {start.subject for start in starts}:
        yield _Clock(ordinance, rule, seconds[subject], seconds[subject])


def _starts(rule: Rule, trigger: Trigger) -> bool:
    if rule.duty in trigger.done or (rule.only_if_before and trigger.on >= rule.only_if_before):
        return False
    return trigger.record is None or trigger.record in rule.records


def _latest_by_subject(starts: list[Trigger]) -> dict[str, Trigger]:
    return {start.subject: start for start in sorted(starts, key=lambda start: (start.on, start.seq))}


def _dated(clock: _Clock, calendar: WorkCalendar, holidays: Sequence[Holidays]) -> Obligation | None:
    day = _day(clock, holidays)
    if day is None:
        return None
    ordinance, rule, start = clock.ordinance, clock.rule, clock.start
    is_kept = rule.kind is Kind.RETENTION
    return Obligation(
        rule=rule.id,
        title=rule.title,
        asks=rule.asks,
        ordinance=ordinance.id,
        ordinance_title=ordinance.title,
        level=ordinance.level,
        force=rule.force,
        duty=rule.duty,
        kind=rule.kind,
        subject=start.subject,
        event=start.event,
        trigger_on=start.on,
        trigger_seq=start.seq,
        counted=day.counted,
        basis=day.basis,
        due_on=day.due_on,
        advised_on=day.due_on if is_kept else calendar.last_working_day(day.due_on, not_before=start.on),
        due_with_holidays_on=day.with_holidays_on,
        citation=rule.citation,
        confirmed=rule.confirmed,
        standing_of_source=rule.standing_of_source,
        override=rule.override,
    )


def _day(clock: _Clock, holidays: Sequence[Holidays]) -> _Day | None:
    """The day of the rule itself, or of the second event if that comes sooner; None when neither sets one."""
    days = [day for day in (_rules_own_day(clock.rule, clock.start, holidays), _second_day(clock.second)) if day]
    return min(days, key=lambda day: day.due_on, default=None)


def _rules_own_day(rule: Rule, start: Trigger, holidays: Sequence[Holidays]) -> _Day | None:
    since = f"{start.event.words}, {start.on}"
    match rule.due:
        case After(interval):
            count = keep_until if rule.kind is Kind.RETENTION else deadline_after
            later = deadline_with_holidays(start.on, interval, holidays)
            return _Day(count(start.on, interval), Basis.INTERVAL, f"{interval} from {since}", later)
        case ByManual(task):
            by_manual = _manual_interval(start, task)
            if by_manual is None:
                return None
            return _Day(deadline_after(start.on, by_manual), Basis.MANUAL, f"{by_manual} by the manual from {since}")
        case OnDay(on):
            return _Day(on, Basis.FIXED_DAY, f"fixed day, for {since}")
        case WhileLasting():
            return None


def _second_day(second: Trigger | None) -> _Day | None:
    if second is None:
        return None
    if second.is_forecast:
        return _Day(second.on, Basis.FORECAST, f"{second.event.words}, by forecast (an estimate)")
    return _Day(second.on, Basis.EVENT, f"{second.event.words}, {second.on}")


def _manual_interval(start: Trigger, task: MakerTask) -> Interval | None:
    return start.manual.interval(task) if start.manual else None


def _group(obligation: Obligation) -> tuple[object, ...]:
    # Every record is kept for its own sake, while one visit of the carrier answers all that is asked of a container.
    own = (obligation.trigger_seq, obligation.trigger_on) if obligation.kind is Kind.RETENTION else ()
    return obligation.kind, obligation.duty, obligation.subject, own


def _bound(group: list[Obligation]) -> list[Obligation]:
    ranked = sorted(group, key=_soonest)
    if ranked[0].kind is Kind.RETENTION:
        longest = max(one.due_on for one in ranked)
        binds = next(one for one in ranked if one.due_on == longest)
    else:
        binds = ranked[0]
    return [replace(one, binds=one is binds, also=tuple(_other(o) for o in ranked if o is not one)) for one in ranked]


def _soonest(obligation: Obligation) -> tuple[object, ...]:
    # On one day the law goes before advice, the wider ordinance before the nearer, so that the order never wavers.
    forces = tuple(Force)
    return (
        obligation.due_on,
        forces.index(obligation.force),
        obligation.level.nearness,
        obligation.ordinance,
        obligation.rule,
        obligation.subject,
        obligation.trigger_seq,
        obligation.trigger_on,
    )


def _other(obligation: Obligation) -> OtherDay:
    return OtherDay(
        rule=obligation.rule,
        ordinance=obligation.ordinance,
        ordinance_title=obligation.ordinance_title,
        level=obligation.level,
        due_on=obligation.due_on,
        citation=obligation.citation,
        confirmed=obligation.confirmed,
    )
