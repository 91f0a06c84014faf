"""Which clocks run: every rule that applies, with the event that started it and what may make it due sooner.

What is done is either not passed in, or named in `Trigger.done`, or comes as an event ``duty_done``: that ends a rule
which asks once, and starts a recurring one anew where its file says so (`doings.py`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from wasteledger.ordinance.circumstances import Circumstances, condition_of, condition_then, left_out
from wasteledger.ordinance.days import deadline_after
from wasteledger.ordinance.doings import SITE, anew, answers, done_for, for_subject, twins_of
from wasteledger.ordinance.due_forms import After, AfterQuarter, EachYear, EveryYears, OnDay
from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.obligations import Trigger
from wasteledger.ordinance.periodic import end_of_month_after_quarter
from wasteledger.ordinance.rules import Ordinance, Rule
from wasteledger.ordinance.words import Event

__all__ = ["SITE", "Clock", "applying", "running"]

_NOTHING_KNOWN = Circumstances()

_DEEDS = frozenset({Event.PICKUP_RELEASED, Event.RECORD_MADE})
"""Events that are judged by what the practice was when they happened, whatever it is now."""


@dataclass(frozen=True, slots=True)
class Clock:
    """One rule, started by one trigger.

    Attributes:
        second: The event that may make it due sooner.
        condition: On what its applying here rests, in words.
        answered: For a day that comes round: everything that was done for it, oldest first.
    """

    ordinance: Ordinance
    rule: Rule
    start: Trigger
    second: Trigger | None = None
    condition: str = ""
    answered: tuple[Trigger, ...] = ()


def running(
    ordinances: Sequence[Ordinance], triggers: Iterable[Trigger], circumstances: Circumstances | None = None
) -> Iterator[Clock]:
    """Every clock that runs.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    known = circumstances or _NOTHING_KNOWN
    by_event: defaultdict[Event, list[Trigger]] = defaultdict(list)
    for trigger in triggers:
        by_event[trigger.event].append(trigger)
    doings = by_event.get(Event.DUTY_DONE, [])
    twins = twins_of(ordinances) if doings else {}
    for ordinance, rule in applying(ordinances, known):
        done = done_for(doings, ordinance, rule, twins)
        starts = _starts(ordinance, rule, by_event, known)
        condition = condition_of(rule, ordinance, known) or ""
        for clock in _clocks(ordinance, rule, starts, by_event, done):
            yield replace(clock, condition=_then(clock, known) if _is_judged_then(rule) else condition)


def applying(ordinances: Sequence[Ordinance], circumstances: Circumstances) -> Iterator[tuple[Ordinance, Rule]]:
    """The rules that apply to such a practice, whether or not anything started their clock.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    for ordinance in in_force(ordinances):
        out = left_out(ordinance, circumstances)
        for rule in ordinance.rules:
            if rule.is_set_aside or (out is not None and rule.duty not in out.leaves):
                continue
            if _is_judged_then(rule) or condition_of(rule, ordinance, circumstances) is not None:
                yield ordinance, rule


def _is_judged_then(rule: Rule) -> bool:
    return bool(rule.only_for) and _DEEDS.issuperset(rule.triggers)


def _then(clock: Clock, known: Circumstances) -> str:
    return condition_then(clock.rule, clock.ordinance, known, clock.start.on) or ""


def _starts(
    ordinance: Ordinance, rule: Rule, by_event: Mapping[Event, list[Trigger]], known: Circumstances
) -> list[Trigger]:
    """The events that start the rule's clock, each on the day from which it counts."""
    since = known.since.get(ordinance.id) if rule.only_for else None
    found = []
    for event in rule.triggers:
        for start in by_event.get(event, []):
            if event is Event.DUTY_DONE:
                continue
            if event is Event.IN_FORCE:
                # A standing duty begins with the rule itself, and with the category that it speaks to.
                start = _not_before(start, rule.in_force_from, "the day on which the rule came into force")
                start = _not_before(start, since, "the first day on which the practice may have been one of those")
            if _is_judged_then(rule) and condition_then(rule, ordinance, known, start.on) is None:
                continue
            if _does_start(ordinance, rule, start):
                found.append(start)
    return found


def _not_before(start: Trigger, on: date | None, because: str) -> Trigger:
    return start if on is None or on <= start.on else replace(start, on=on, because=because)


def _clocks(
    ordinance: Ordinance,
    rule: Rule,
    starts: list[Trigger],
    by_event: Mapping[Event, list[Trigger]],
    done: list[Trigger],
) -> Iterator[Clock]:
    answered: tuple[Trigger, ...] = ()
    if Event.DUTY_DONE not in rule.triggers:
        starts = starts if rule.recurs else _unanswered(rule, starts, done)
    elif isinstance(rule.due, EachYear | EveryYears):
        # Each of its days is answered by itself: an old one that was missed is not, because a newer one was.
        answered = tuple(done)
        starts = list(_first_by_subject(starts).values()) or anew(rule, starts, done)[:1]
    else:
        starts = [*starts, *anew(rule, starts, done)]
    if rule.recurs:
        starts = list(_latest_by_subject(starts).values())
    seconds: dict[str, Trigger] = {}
    if rule.or_when:
        for second in sorted(by_event.get(rule.or_when, []), key=lambda second: second.on, reverse=True):
            if rule.duty not in second.done and _is_for(second, ordinance):
                seconds[second.subject] = second
    for start in starts:
        yield Clock(ordinance, rule, start, seconds.get(start.subject), answered=for_subject(answered, start.subject))
    # A second event makes the duty due even where no start is on record: a full unit is full, whenever it came.
    for subject in seconds.keys() - {start.subject for start in starts}:
        yield Clock(ordinance, rule, seconds[subject], seconds[subject])


def _is_for(trigger: Trigger, ordinance: Ordinance) -> bool:
    return trigger.ordinance in ("", ordinance.id)


def _does_start(ordinance: Ordinance, rule: Rule, trigger: Trigger) -> bool:
    if not _is_for(trigger, ordinance) or not rule.stands_on(trigger.on):
        return False
    if trigger.done & {rule.duty, f"{ordinance.id}:{rule.duty}"}:
        return False
    if rule.only_if_before and trigger.on >= rule.only_if_before:
        return False
    return trigger.record is None or trigger.record in rule.records


def _unanswered(rule: Rule, starts: list[Trigger], done: list[Trigger]) -> list[Trigger]:
    """The starts of a duty asked once that nothing answers; what names the day of one answers that one alone."""
    days = {start: _own_day(rule, start) for start in starts}

    def is_answered(start: Trigger) -> bool:
        for one in done:
            names_another = one.answers_on in days.values() and one.answers_on != days[start]
            if answers(one, start) and not (one.answers_on is not None and names_another):
                return True
        return False

    return [start for start in starts if not is_answered(start)]


def _own_day(rule: Rule, start: Trigger) -> date | None:
    match rule.due:
        case After(interval):
            return deadline_after(start.on, interval)
        case OnDay(on):
            return on
        case AfterQuarter():
            return end_of_month_after_quarter(rule.due, start.on)
        case _:
            return None


def _first_by_subject(starts: list[Trigger]) -> dict[str, Trigger]:
    return {start.subject: start for start in sorted(starts, key=_order, reverse=True)}


def _latest_by_subject(starts: list[Trigger]) -> dict[str, Trigger]:
    return {start.subject: start for start in sorted(starts, key=_order)}


def _order(start: Trigger) -> tuple[date, bool, int]:
    # On one day, what was done comes after what asked for it.
    return start.on, start.event is Event.DUTY_DONE, start.seq
