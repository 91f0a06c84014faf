"""What was done, held against what is asked: which rules a duty done answers, and which of its days.

A paper sent to one authority answers the rule it was sent for, and that very clause where another file restates it;
nothing else. What was done to a device, a container, a pickup is done for every rule that asks the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from wasteledger.ordinance.citations import rule_keys_of
from wasteledger.ordinance.obligations import Trigger
from wasteledger.ordinance.rules import Ordinance, Rule
from wasteledger.ordinance.words import Event, Level

SITE = "site"
"""The subject of what concerns the whole practice; what was done for it was done for every subject of the rule."""

Named = tuple[str, str]
"""A rule by its ordinance and its own id."""


def twins_of(ordinances: Iterable[Ordinance]) -> dict[Named, frozenset[Named]]:
    """For each rule those of other ordinances that restate it: the same clause, duty, event and due day.

    A shared chapter number alone joins nothing: two rules that cite one chapter may ask for two things.
    """
    rules = {(ordinance.id, rule.id): rule for ordinance in ordinances for rule in ordinance.rules}
    keys = {named: rule_keys_of(rule) for named, rule in rules.items()}
    by_duty: dict[str, list[Named]] = {}
    for named, rule in rules.items():
        by_duty.setdefault(rule.duty, []).append(named)
    return {
        named: frozenset(
            other
            for other in by_duty[rule.duty]
            if other[0] != named[0] and keys[named] & keys[other] and _asks_the_same(rule, rules[other])
        )
        for named, rule in rules.items()
    }


def _asks_the_same(one: Rule, other: Rule) -> bool:
    return (one.recurs, one.due, one.kind) == (other.recurs, other.due, other.kind) and bool(
        set(one.triggers) & set(other.triggers)
    )


def done_for(
    doings: Iterable[Trigger], ordinance: Ordinance, rule: Rule, twins: Mapping[Named, frozenset[Named]]
) -> list[Trigger]:
    """Of what was done (events ``duty_done``) what answers *rule*, oldest first."""
    found = [one for one in doings if one.duty == rule.duty and _is_for(one, ordinance, rule, twins)]
    return sorted(found, key=lambda one: (one.on, one.seq))


def _is_for(done: Trigger, ordinance: Ordinance, rule: Rule, twins: Mapping[Named, frozenset[Named]]) -> bool:
    named = (ordinance.id, rule.id)
    same = {named, *twins.get(named, ())}
    if done.clause:
        # The clause is federal: a nearer file that merely mentions it asks for something of its own.
        restates = ordinance.level is Level.FEDERAL or len(same) > 1
        return restates and any(key.startswith(done.clause) for key in rule_keys_of(rule))
    if not done.ordinance:
        return True
    if not done.rule:
        return any(done.ordinance == other for other, _ in same)
    # A rule that the present text names no more was renamed: what was done for it counts for its duty.
    is_renamed = done.ordinance == ordinance.id and (done.ordinance, done.rule) not in twins
    return is_renamed or (done.ordinance, done.rule) in same


def answers(done: Trigger, start: Trigger) -> bool:
    """Whether a duty that is asked once was done after what asked for it; on one day the later entry counts.

    What happens once only may be filed ahead: a report before the first wastewater is the report of that wastewater. So
    may whatever names a due day that came after it.
    """
    if done.subject not in (start.subject, SITE):
        return False
    if start.event is Event.FIRST_DISCHARGE or (done.answers_on is not None and done.answers_on >= start.on):
        return True
    if done.on != start.on:
        return done.on > start.on
    if done.at is not None and start.at is not None:
        return done.at >= start.at
    return not (done.seq and start.seq) or done.seq > start.seq


def for_subject(doings: Iterable[Trigger], subject: str) -> tuple[Trigger, ...]:
    """Of what was done what counts for *subject*."""
    return tuple(replace(one, subject=subject) for one in doings if one.subject in (subject, SITE))


def anew(rule: Rule, starts: Sequence[Trigger], doings: Iterable[Trigger]) -> list[Trigger]:
    """What was done, as starts of a recurring rule; done for the whole practice, for each subject whose clock ran."""
    subjects = {start.subject for start in starts} or {SITE}
    found = []
    for one in doings:
        if rule.stands_on(one.on):
            found += [one] if one.subject != SITE else [replace(one, subject=subject) for subject in subjects]
    return found
