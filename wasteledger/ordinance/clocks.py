"""Which clocks run: every rule that applies, with the event that started it and what may make it due sooner.

What is done is either not passed in, or named in `Trigger.done`, or comes as an event ``duty_done``: that ends a rule
which asks once, and starts a recurring one anew where its file says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from wasteledger.ordinance.circumstances import Circumstances, condition_of, left_out
from wasteledger.ordinance.citations import rule_keys_of
from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.obligations import Trigger
from wasteledger.ordinance.rules import Ordinance, Rule
from wasteledger.ordinance.words import Event

SITE = "site"
"""The subject of what concerns the whole practice; what was done for it was done for every subject of the rule."""

_NOTHING_KNOWN = Circumstances()


@dataclass(frozen=True, slots=True)
class Clock:
    """One rule, started by one trigger; *second* is the event that may make it due sooner."""

    ordinance: Ordinance
    rule: Rule
    start: Trigger
    second: Trigger | None
    condition: str = ""


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
    rules = {(ordinance.id, rule.id): rule for ordinance in ordinances for rule in ordinance.rules}
    twins = _twins(rules) if doings else {}
    for ordinance, rule in applying(ordinances, known):
        same = twins.get((ordinance.id, rule.id), frozenset())
        done = [one for one in doings if _counts(one, ordinance, rule, rules, same)]
        heard = _since(rule, ordinance, by_event, known)
        yield from _clocks(ordinance, rule, heard, condition_of(rule, ordinance, known) or "", done)


def _since(
    rule: Rule, ordinance: Ordinance, by_event: Mapping[Event, list[Trigger]], known: Circumstances
) -> Mapping[Event, list[Trigger]]:
    """The events as they count for a rule that speaks to some generators only: none before the practice was one.

    A standing duty begins with the category, and a shipment made before was made under its rules. How long waste has
    lain in a container is counted from its own first day all the same: the stricter reading.
    """
    since = known.since.get(ordinance.id) if rule.only_for else None
    if since is None:
        return by_event
    begun = [replace(one, on=max(one.on, since)) for one in by_event.get(Event.IN_FORCE, [])]
    left = [one for one in by_event.get(Event.PICKUP_RELEASED, []) if one.on >= since]
    return {**by_event, Event.IN_FORCE: begun, Event.PICKUP_RELEASED: left}


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
            if condition_of(rule, ordinance, circumstances) is not None:
                yield ordinance, rule


_Rules = Mapping[tuple[str, str], Rule]
_Named = tuple[str, str]


def _twins(rules: _Rules) -> dict[_Named, frozenset[_Named]]:
    """For each rule those of other ordinances that restate its very clause: what was done for one was done for both."""
    keys = {named: rule_keys_of(rule) for named, rule in rules.items()}
    return {
        named: frozenset(
            other
            for other, twin in rules.items()
            if other[0] != named[0]
            and (twin.duty, twin.recurs) == (rule.duty, rule.recurs)
            and keys[named] & keys[other]
        )
        for named, rule in rules.items()
    }


def _counts(done: Trigger, ordinance: Ordinance, rule: Rule, rules: _Rules, twins: frozenset[_Named]) -> bool:
    """Whether what was done was done for this rule."""
    if done.duty != rule.duty:
        return False
    if not done.ordinance:
        return True
    if done.ordinance != ordinance.id:
        return any(other == done.ordinance and done.rule in ("", twin) for other, twin in twins)
    # What is filed once is not answered by its renewal, nor the other way round.
    named = rules.get((ordinance.id, done.rule))
    return named is None or named.recurs is rule.recurs


def _clocks(
    ordinance: Ordinance, rule: Rule, by_event: Mapping[Event, list[Trigger]], condition: str, done: list[Trigger]
) -> Iterator[Clock]:
    starts = [
        start
        for event in rule.triggers
        if event is not Event.DUTY_DONE
        for start in by_event.get(event, [])
        if _starts(ordinance, rule, start)
    ]
    if Event.DUTY_DONE in rule.triggers:
        starts += _anew(rule, starts, done)
    elif not rule.recurs:
        starts = [start for start in starts if not any(_answers(one, start) for one in done)]
    if rule.recurs:
        starts = list(_latest_by_subject(starts).values())
    seconds: dict[str, Trigger] = {}
    if rule.or_when:
        for second in sorted(by_event.get(rule.or_when, []), key=lambda second: second.on, reverse=True):
            if rule.duty not in second.done and _is_for(second, ordinance):
                seconds[second.subject] = second
    for start in starts:
        yield Clock(ordinance, rule, start, seconds.get(start.subject), condition)
    # A second event makes the duty due even where no start is on record: a full unit is full, whenever it came.
    for subject in seconds.keys() - {start.subject for start in starts}:
        yield Clock(ordinance, rule, seconds[subject], seconds[subject], condition)


def _is_for(trigger: Trigger, ordinance: Ordinance) -> bool:
    return trigger.ordinance in ("", ordinance.id)


def _starts(ordinance: Ordinance, rule: Rule, trigger: Trigger) -> bool:
    if not _is_for(trigger, ordinance) or not rule.stands_on(trigger.on):
        return False
    if trigger.done & {rule.duty, f"{ordinance.id}:{rule.duty}"}:
        return False
    if rule.only_if_before and trigger.on >= rule.only_if_before:
        return False
    return trigger.record is None or trigger.record in rule.records


def _answers(done: Trigger, start: Trigger) -> bool:
    return done.subject in (start.subject, SITE) and done.on >= start.on


def _anew(rule: Rule, starts: list[Trigger], done: list[Trigger]) -> list[Trigger]:
    """What was done, as starts; done for the whole practice, it counts for each subject whose clock ran."""
    subjects = {start.subject for start in starts} or {SITE}
    found = []
    for one in done:
        if not rule.stands_on(one.on):
            continue
        if one.subject != SITE:
            found.append(one)
            continue
        found += [replace(one, subject=subject) for subject in subjects]
    return found


def _latest_by_subject(starts: list[Trigger]) -> dict[str, Trigger]:
    return {start.subject: start for start in sorted(starts, key=_order)}


def _order(start: Trigger) -> tuple[date, bool, int]:
    # On one day, what was done comes after what asked for it.
    return start.on, start.event is Event.DUTY_DONE, start.seq
