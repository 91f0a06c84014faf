"""What an ordinance file may say without a fault, and hardly means: clocks that nothing ends, an id that is taken."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wasteledger.model.findings import Finding
from wasteledger.office.duties import OWN_COMMANDS
from wasteledger.ordinance import Duty, Event, Kind, Ordinance, Rule
from wasteledger.ordinance.rules import WhileLasting

_MADE_BY: dict[str, frozenset[Event]] = {
    Duty.INSPECT_SEPARATOR: frozenset({Event.SEPARATOR_INSPECTED}),
    Duty.TEST_SEPARATOR: frozenset({Event.SEPARATOR_TESTED}),
    Duty.REPLACE_RETAINING_UNIT: frozenset({Event.RETAINING_UNIT_REPLACED}),
    Duty.RETIRE_LEGACY_SEPARATOR: frozenset({Event.SEPARATOR_INSTALLED}),
    Duty.SHIP_CONTAINER: frozenset({Event.PICKUP_RELEASED, Event.LAST_PICKUP}),
    Duty.SHIP_STOCK: frozenset({Event.PICKUP_RELEASED, Event.LAST_PICKUP}),
    Duty.LOOK_AT_CONTAINERS: frozenset({Event.CONTAINERS_LOOKED_AT}),
    Duty.CLEAN_LINES: frozenset({Event.LINE_CLEANED}),
}
"""Events that doing the duty makes, and that so start its clock anew."""

_HAPPENS_TO: dict[Event, str] = {
    Event.SEPARATOR_INSTALLED: "separator",
    Event.SEPARATOR_INSPECTED: "separator",
    Event.SEPARATOR_TESTED: "separator",
    Event.MALFUNCTION_FOUND: "separator",
    Event.RETAINING_UNIT_REPLACED: "separator",
    Event.RETAINING_UNIT_FULL: "separator",
    Event.CONTAINER_FIRST_WASTE: "container",
    Event.CONTAINER_FULL: "container",
    Event.PICKUP_RELEASED: "pickup",
    Event.PICKUP_RECEIVED: "pickup",
}
_PRACTICE = "whole practice"

_DONE_TO: dict[str, frozenset[str]] = {
    Duty.INSPECT_SEPARATOR: frozenset({"separator"}),
    Duty.REPAIR_SEPARATOR: frozenset({"separator"}),
    Duty.REPLACE_RETAINING_UNIT: frozenset({"separator"}),
    Duty.RETIRE_LEGACY_SEPARATOR: frozenset({"separator"}),
    Duty.SHIP_CONTAINER: frozenset({"container"}),
    # All containers that leave are the stock.
    Duty.SHIP_STOCK: frozenset({_PRACTICE, "container"}),
    Duty.MOVE_SATELLITE_EXCESS: frozenset({_PRACTICE, "container"}),
    Duty.CLEAN_LINES: frozenset({_PRACTICE}),
}
"""What a duty with a command of its own is done to: an event that happens to anything else starts a clock apart."""


def doubts(read: Iterable[Ordinance], shipped: Iterable[Ordinance]) -> Iterator[Finding]:
    """Remarks on files that were read without a fault; *shipped* are those that come with the program."""
    taken = {ordinance.id: ordinance for ordinance in shipped}
    for ordinance in read:
        same = taken.get(ordinance.id)
        if same is not None and same.digest != ordinance.digest:
            says = (
                f"Its id “{ordinance.id}” is that of a shipped file: "
                "put in force, it takes the place of the shipped file."
            )
            yield Finding("takes-a-place", ordinance.file, says, "Unless that is meant, give it an id of its own.")
        for rule in ordinance.rules:
            if rule.kind is Kind.DEADLINE:
                yield from _of_rule(ordinance, rule)


def _of_rule(ordinance: Ordinance, rule: Rule) -> Iterator[Finding]:
    if _is_never_ended(rule):
        ends = sorted(event.value for event in _ending(rule))
        says = f"{rule.id} comes back, and nothing that is recorded starts its clock anew: once past, it stays overdue."
        yield Finding("never-ended", ordinance.file, says, f"Add to its trigger: {' or '.join(ends)}." if ends else "")
    subjects = _DONE_TO.get(rule.duty)
    events = (*rule.triggers, *((rule.or_when,) if rule.or_when else ()))
    for event in events if subjects is not None else ():
        happens_to = _HAPPENS_TO.get(event, _PRACTICE)
        if subjects is None or event is Event.DUTY_DONE or happens_to in subjects:
            continue
        says = (
            f"{rule.id}: {event.value} happens to {_one(happens_to)}, and {rule.duty} is done to "
            f"{' or '.join(_one(subject) for subject in sorted(subjects))}: {OWN_COMMANDS[rule.duty]} does not end it."
        )
        fit = [one.value for one in Event if _HAPPENS_TO.get(one) in subjects]
        do = f"Write events of its own: {', '.join(fit)}." if fit else "Write an event of the whole practice."
        yield Finding("other-subject", ordinance.file, says, do)


def _is_never_ended(rule: Rule) -> bool:
    if not rule.recurs or Event.IN_FORCE not in rule.triggers or isinstance(rule.due, WhileLasting):
        return False
    return not _ending(rule) & {*rule.triggers}


def _ending(rule: Rule) -> frozenset[Event]:
    """The events that start its clock anew once it was done."""
    made = _MADE_BY.get(rule.duty, frozenset())
    # What has a command of its own is never recorded as a duty done.
    return made if rule.duty in OWN_COMMANDS else made | {Event.DUTY_DONE}


def _one(subject: str) -> str:
    return f"the {subject}" if subject == _PRACTICE else f"a {subject}"
