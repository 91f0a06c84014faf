"""From what the journal shows to dated obligations.

The journal's side comes as plain values: a `Trigger` for every event whose clock still runs. What is done is simply not
passed in, or its duty is named in `Trigger.done`. Each rule gives a day of its own; among rules that ask the same duty
for the same subject the earliest deadline binds, and the longest retention.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from wasteledger.ordinance.circumstances import Circumstances
from wasteledger.ordinance.clocks import Clock, running
from wasteledger.ordinance.days import (
    Holidays,
    Interval,
    Unit,
    WorkCalendar,
    deadline_after,
    deadline_with_holidays,
    keep_until,
)
from wasteledger.ordinance.doings import Named, twins_of
from wasteledger.ordinance.obligations import Basis, Obligation, OtherDay, Retention, Trigger, Undated
from wasteledger.ordinance.periodic import Done, Turn, end_of_month_after_quarter, next_unanswered, told
from wasteledger.ordinance.rules import (
    After,
    AfterQuarter,
    ByManual,
    Due,
    EachYear,
    EveryYears,
    OnDay,
    Ordinance,
    WhileLasting,
)
from wasteledger.ordinance.words import FILINGS, Event, Force, Kind, MakerTask, Record


def obligations(
    ordinances: Sequence[Ordinance],
    triggers: Iterable[Trigger],
    calendar: WorkCalendar | None = None,
    holidays: Sequence[Holidays] = (),
    circumstances: Circumstances | None = None,
) -> tuple[Obligation, ...]:
    """Every dated obligation, soonest first; the ones that bind are marked, and name the others.

    Among rules that ask the same duty for the same subject the earliest binds. What is filed with an authority is
    owed to each by itself: there only the same clause, restated or renumbered (`doings.twins_of`), counts as one.

    Args:
        ordinances: All that are in force; overrides among them are laid over here.
        triggers: Events whose clock runs, in any order.
        calendar: When the practice works, for the advised day; Monday to Friday when left out.
        holidays: Known holidays, for the second reading of business days.
        circumstances: What is known of the practice; what is not known leaves no rule out.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    calendar = calendar or WorkCalendar()
    found = [
        obligation
        for clock in running(ordinances, triggers, circumstances)
        if (obligation := _dated(clock, calendar, holidays)) is not None
    ]
    groups: defaultdict[tuple[object, ...], list[Obligation]] = defaultdict(list)
    for obligation in found:
        groups[_group(obligation)].append(obligation)
    twins = twins_of(ordinances)
    return tuple(sorted((one for group in groups.values() for one in _bound(group, twins)), key=_soonest))


def undated(
    ordinances: Sequence[Ordinance], triggers: Iterable[Trigger], circumstances: Circumstances | None = None
) -> tuple[Undated, ...]:
    """Duties whose clock runs without a day: the manual's interval is not entered, or something lasts.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    found = []
    for clock in running(ordinances, triggers, circumstances):
        ordinance, rule, start = clock.ordinance, clock.rule, clock.start
        match rule.due:
            case WhileLasting(lasting) if lasting in start.ended:
                continue
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
                override=rule.override,
                record=start.record,
            )
        )
    return tuple(sorted(found, key=lambda one: (not one.is_gap, one.ordinance, one.rule, one.subject, one.trigger_seq)))


def binding(found: Iterable[Obligation]) -> tuple[Obligation, ...]:
    """Of *found* those that bind, in the same order."""
    return tuple(obligation for obligation in found if obligation.binds)


def retention(
    ordinances: Sequence[Ordinance],
    record: Record,
    made_on: date,
    *,
    seq: int = 0,
    circumstances: Circumstances | None = None,
) -> Retention:
    """How long the ordinances in force keep a record of that class made on that day.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    made = (Trigger(Event.RECORD_MADE, made_on, record.value, seq, record=record),)
    dated = obligations(ordinances, made, circumstances=circumstances)
    terms = [term for term in dated if term.kind is Kind.RETENTION]
    lasting = tuple(one for one in undated(ordinances, made, circumstances) if one.kind is Kind.RETENTION)
    return Retention(max(terms, key=lambda term: term.due_on, default=None), lasting)


@dataclass(frozen=True, slots=True)
class _Day:
    due_on: date
    basis: Basis
    counted: str
    with_holidays_on: date | None = None
    opens_on: date | None = None


def _dated(clock: Clock, calendar: WorkCalendar, holidays: Sequence[Holidays]) -> Obligation | None:
    day = _day(clock, holidays)
    if day is None:
        return None
    ordinance, rule, start = clock.ordinance, clock.rule, clock.start
    is_kept = rule.kind is Kind.RETENTION
    shown = _shown(clock, day.basis)
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
        event=shown.event,
        trigger_on=shown.on,
        trigger_seq=shown.seq,
        counted=day.counted,
        basis=day.basis,
        due_on=day.due_on,
        advised_on=day.due_on if is_kept else calendar.last_working_day(day.due_on, not_before=start.on),
        due_with_holidays_on=day.with_holidays_on,
        citation=rule.citation,
        confirmed=rule.confirmed,
        standing_of_source=rule.standing_of_source,
        override=rule.override,
        holidays_unknown=_leaves_holidays_out(rule.due) and day.basis is Basis.INTERVAL and not day.with_holidays_on,
        record=start.record,
        opens_on=day.opens_on,
        condition=clock.condition,
    )


def _shown(clock: Clock, basis: Basis) -> Trigger:
    """The event from which the day is told: the second one where it set it, the newest of what was done, the start."""
    if basis in (Basis.EVENT, Basis.FORECAST) and clock.second is not None:
        return clock.second
    return clock.answered[-1] if basis is Basis.CALENDAR and clock.answered else clock.start


def _leaves_holidays_out(due: Due) -> bool:
    return isinstance(due, After) and due.interval.unit is Unit.BUSINESS_DAYS and bool(due.interval.holidays)


def _day(clock: Clock, holidays: Sequence[Holidays]) -> _Day | None:
    """The day of the rule itself, or of the second event if that comes sooner; None when neither sets one."""
    days = [day for day in (_rules_own_day(clock, holidays), _second_day(clock.second)) if day]
    return min(days, key=lambda day: day.due_on, default=None)


def _rules_own_day(clock: Clock, holidays: Sequence[Holidays]) -> _Day | None:
    rule, start = clock.rule, clock.start
    since = f"{start.words}, {start.on}"
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
        case EachYear() | EveryYears():
            turn = _turn(rule.due, clock)
            if turn is None or (rule.in_force_until is not None and turn.due_on > rule.in_force_until):
                return None
            last = clock.answered[-1] if clock.answered else start
            since = f"{last.words}, {last.on}"
            has_window = isinstance(rule.due, EachYear) and rule.due.opens is not None
            opens_on = turn.opens_on if has_window else None
            return _Day(turn.due_on, Basis.CALENDAR, f"{told(rule.due)}, from {since}", None, opens_on)
        case AfterQuarter():
            return _Day(end_of_month_after_quarter(rule.due, start.on), Basis.CALENDAR, f"{told(rule.due)} of {since}")
        case WhileLasting():
            return None


def _turn(due: EachYear | EveryYears, clock: Clock) -> Turn | None:
    start, done = clock.start, [Done(one.on, one.answers_on) for one in clock.answered]
    if start.event is Event.DUTY_DONE and not done:
        done = [Done(start.on, start.answers_on)]
    return next_unanswered(due, start.on, done)


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
    is_kept = obligation.kind is Kind.RETENTION
    own = (obligation.trigger_seq, obligation.trigger_on, obligation.record) if is_kept else ()
    return obligation.kind, obligation.duty, obligation.subject, own


_Twins = Mapping[Named, frozenset[Named]]


def _bound(group: list[Obligation], twins: _Twins) -> list[Obligation]:
    if group[0].kind is Kind.DEADLINE and group[0].duty in FILINGS:
        return [one for owed in _by_rule(group, twins) for one in _held_together(owed, twins)]
    return _held_together(group, twins)


def _by_rule(group: list[Obligation], twins: _Twins) -> list[list[Obligation]]:
    """Each filing by itself, and with it what another ordinance restates of that very clause."""
    parts: list[list[Obligation]] = []
    for one in sorted(group, key=_soonest):
        near = [part for part in parts if any(_is_one_filing(one, other, twins) for other in part)]
        parts = [part for part in parts if part not in near] + [[one, *(other for part in near for other in part)]]
    return parts


def _is_one_filing(one: Obligation, other: Obligation, twins: _Twins) -> bool:
    return (one.ordinance, one.rule) == (other.ordinance, other.rule) or _is_same_rule(one, other, twins)


def _is_same_rule(one: Obligation, other: Obligation, twins: _Twins) -> bool:
    return (other.ordinance, other.rule) in twins.get((one.ordinance, one.rule), frozenset())


def _held_together(group: list[Obligation], twins: _Twins) -> list[Obligation]:
    ranked = sorted(group, key=_soonest)
    if ranked[0].kind is Kind.RETENTION:
        longest = max(one.due_on for one in ranked)
        binds = next(one for one in ranked if one.due_on == longest)
    else:
        binds = ranked[0]
    return [
        replace(
            one,
            binds=one is binds,
            also=tuple(_other(other, _is_same_rule(one, other, twins)) for other in ranked if other is not one),
        )
        for one in ranked
    ]


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


def _other(obligation: Obligation, is_same_rule: bool) -> OtherDay:
    return OtherDay(
        rule=obligation.rule,
        ordinance=obligation.ordinance,
        ordinance_title=obligation.ordinance_title,
        level=obligation.level,
        due_on=obligation.due_on,
        citation=obligation.citation,
        confirmed=obligation.confirmed,
        is_same_rule=is_same_rule,
    )
