"""Clocks that start with an ordinance itself, and what the journal shows as done."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import tzinfo

from wasteledger.ledger.reader import Reader
from wasteledger.model.filings import DutyDone, Training
from wasteledger.ordinance import Duty, Event, Trigger
from wasteledger.ordinance.clocks import SITE
from wasteledger.ordinance.words import FILINGS, OWN_DUTY

_EVENTS = {
    Duty.TEST_SEPARATOR.value: Event.SEPARATOR_TESTED,
    Duty.LOOK_AT_CONTAINERS.value: Event.CONTAINERS_LOOKED_AT,
}


def duty_triggers(reader: Reader, zone: tzinfo) -> Iterator[Trigger]:
    """When each ordinance came into force here, and every duty that was recorded as done."""
    for line in reader.lines("ordinance"):
        on = line.since_at.astimezone(zone).date()
        yield Trigger(Event.IN_FORCE, on, SITE, line.seq, ordinance=line.ref)
    for fact in reader.facts_between(kinds=(DutyDone.KIND, Training.KIND)):
        on = fact.happened_at.astimezone(zone).date()
        if isinstance(fact.body, Training):
            yield Trigger(Event.DUTY_DONE, on, SITE, fact.seq, duty=Duty.TRAIN_STAFF.value)
        if not isinstance(fact.body, DutyDone):
            continue
        done = fact.body
        subject = subject_of(done)
        # A paper sent to one authority answers no other; what was done to a device or a container is done for all.
        own = done.duty in FILINGS or done.duty.startswith(OWN_DUTY)
        yield Trigger(
            Event.DUTY_DONE,
            on,
            subject,
            fact.seq,
            duty=done.duty,
            ordinance=(done.ordinance or "") if own else "",
            rule=(done.rule or "") if own else "",
            answers_on=done.due_on,
            at=fact.happened_at,
        )
        if done.duty in _EVENTS:
            yield Trigger(_EVENTS[done.duty], on, subject, fact.seq)


def subject_of(done: DutyDone) -> str:
    """What it was done for, as obligations name it: a separator, a container, a pickup, else the site."""
    for what in ("separator", "container", "pickup"):
        ref = getattr(done, what)
        if ref is not None:
            return f"{what} {ref}"
    return SITE
