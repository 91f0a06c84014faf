"""From the standing to the events whose clocks run, as the ordinances take them.

Duties recorded as done stand in `office/duty_triggers.py`, records that are kept for a term in
`office/record_triggers.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta, tzinfo

from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts
from wasteledger.model.standing import ContainerStanding, PickupStanding, SeparatorStanding
from wasteledger.model.values import Body
from wasteledger.office.duty_triggers import duty_triggers
from wasteledger.office.milestones import standing_milestones
from wasteledger.office.newest import newest_fact
from wasteledger.office.separator_history import devices_before, facts_of, installed
from wasteledger.office.unit_outlook import full_forecast, manual_of
from wasteledger.ordinance import Duty, Event, Trigger
from wasteledger.ordinance.clocks import SITE

FULL_PERMILLE = 1000
"""A retaining unit at this level of its own mark is full."""

_REPAIRED = frozenset({Duty.REPAIR_SEPARATOR.value})

_RECEIPT_IN = frozenset({Duty.REPORT_MISSING_RECEIPT.value})
"""What a signed receipt answers. Asking goes on until the proof of recycling, the second paper, has come as well."""

_CLOSED = _RECEIPT_IN | {Duty.CHASE_RECEIPT.value, Duty.CHASE_RECEIPT_AGAIN.value, Duty.CHASE_RECEIPT_LAST.value}


def triggers_of(reader: Reader, zone: tzinfo, today: date | None = None) -> tuple[Trigger, ...]:
    """Every event whose clock runs; days are local ones in *zone*, each with the entry that shows it.

    With *today* also the days on which retaining units are forecast to be full, which rest on no entry.
    """
    pickups = reader.pickups()
    found = [
        *(trigger for one in reader.separators() for trigger in _of_separator(reader, one, zone, today)),
        *(trigger for one in reader.containers("open", "closed") for trigger in _of_container(reader, one, zone)),
        *_of_pickups(pickups, zone),
        *_of_milestones(reader, zone),
        *_of_line_cleaning(reader, zone),
        *duty_triggers(reader, zone),
    ]
    return tuple(found)


def _day(instant: datetime, zone: tzinfo) -> date:
    return instant.astimezone(zone).date()


# -- separators --------------------------------------------------------------------------------------------------------


def _of_separator(reader: Reader, separator: SeparatorStanding, zone: tzinfo, today: date | None) -> Iterator[Trigger]:
    details, subject = separator.details, f"separator {separator.separator}"
    manual, device = manual_of(details), installed(reader, separator, zone)
    # A unit that meets the standard may stay; that its standard is entered is what the journal can show.
    done = frozenset({Duty.RETIRE_LEGACY_SEPARATOR.value}) if details.standard else frozenset()
    gone = frozenset({Duty.RETIRE_LEGACY_SEPARATOR.value})
    for on, seq in devices_before(reader, separator, zone):
        if on < device.on:
            yield Trigger(Event.SEPARATOR_INSTALLED, on, subject, seq, manual, done=gone)
    yield Trigger(Event.SEPARATOR_INSTALLED, device.on, subject, device.seq, manual, done=done)
    if separator.last_inspection_at is not None:
        on = _day(separator.last_inspection_at, zone)
        yield Trigger(Event.SEPARATOR_INSPECTED, on, subject, separator.last_inspection_seq, manual)
    if separator.last_unit_at is not None:
        on = _day(separator.last_unit_at, zone)
        yield Trigger(Event.RETAINING_UNIT_REPLACED, on, subject, separator.last_unit_seq, manual)
    for found, is_open in _malfunctions(reader, separator):
        ended = frozenset() if is_open else _REPAIRED
        on = _day(found.happened_at, zone)
        yield Trigger(Event.MALFUNCTION_FOUND, on, subject, found.seq, manual, done=ended, at=found.happened_at)
    if separator.level_permille is not None and separator.level_permille >= FULL_PERMILLE:
        full = _seen_full(reader, separator)
        if full is not None:
            yield Trigger(Event.RETAINING_UNIT_FULL, _day(full.happened_at, zone), subject, full.seq, manual)
    elif today is not None and (forecast := full_forecast(reader, separator, today)) is not None:
        yield forecast


def _malfunctions(reader: Reader, separator: SeparatorStanding) -> Iterator[tuple[Fact, bool]]:
    """Each malfunction by the look that found it, and whether it is open; a repair ends nothing else that it asks."""
    found: Fact | None = None
    for fact in facts_of(reader, separator.separator, kinds.SeparatorInspection, kinds.Repair):
        match fact.body:
            case kinds.SeparatorInspection(result="malfunction") if found is None:
                found = fact
            case kinds.Repair() if found is not None:
                yield found, False
                found = None
    if found is not None:
        yield found, True


def _seen_full(reader: Reader, separator: SeparatorStanding) -> Fact | None:
    """The first inspection since the last exchange that read the unit as full."""
    facts = facts_of(reader, separator.separator, kinds.SeparatorInspection)
    for fact in facts:
        level = fact.body.level_permille if isinstance(fact.body, kinds.SeparatorInspection) else None
        since = separator.last_unit_at is None or fact.happened_at >= separator.last_unit_at
        if since and level is not None and level >= FULL_PERMILLE:
            return fact
    return None


# -- containers --------------------------------------------------------------------------------------------------------


def _of_container(reader: Reader, container: ContainerStanding, zone: tzinfo) -> Iterator[Trigger]:
    subject = f"container {container.container}"
    if container.first_waste_at is not None:
        seq = _first_waste_seq(reader, container, container.first_waste_at)
        yield Trigger(Event.CONTAINER_FIRST_WASTE, _day(container.first_waste_at, zone), subject, seq)
    if container.closed_at is not None or container.level_permille is not None:
        full = _full_since(reader, container)
        if full is not None:
            yield Trigger(Event.CONTAINER_FULL, _day(full.happened_at, zone), subject, full.seq)


def _full_since(reader: Reader, container: ContainerStanding) -> Fact | None:
    """The entry that first shows the container full: closed as full, or read at its mark and never below it since."""
    about = Subject("container", container.container)
    facts = _facts_of_kinds(reader, about, kinds.ContainerClosed, kinds.Level)
    if container.closed_at is not None and not any(isinstance(fact.body, kinds.ContainerClosed) for fact in facts):
        facts = reader.facts_about(about)
    full: Fact | None = None
    for fact in facts:
        match fact.body:
            case kinds.ContainerClosed(why="full"):
                full = full or fact
            case kinds.Level(level_permille=level):
                full = (full or fact) if level >= container.close_at_permille else None
    return full


def _first_waste_seq(reader: Reader, container: ContainerStanding, at: datetime) -> int:
    about = Subject("container", container.container)
    filling = (kinds.Swap, kinds.Deposit, kinds.UnitReplaced)
    moment = Filter(
        since=at,
        until=at + timedelta(microseconds=1),
        kinds=tuple(kind.KIND for kind in filling),
        subjects=(about,),
        by_recorded=True,
    )
    there = [entry.seq for entry in reader.entries(moment)]
    if there and not reader.corrections_of(there):
        return there[0]
    # Corrected or moved in time: the whole history of the container says which entry counts.
    return next(
        (f.seq for f in reader.facts_about(about) if f.happened_at == at and isinstance(f.body, filling)),
        container.opened_seq,
    )


# -- pickups, milestones, line cleaning --------------------------------------------------------------------------------


def _of_pickups(pickups: list[PickupStanding], zone: tzinfo) -> Iterator[Trigger]:
    released = [(one.released_at, one) for one in pickups if one.released_at is not None]
    for released_at, one in released:
        subject = f"pickup {one.pickup}"
        # What else a release asks for outlasts its papers.
        done = _CLOSED if one.status == "closed" else _RECEIPT_IN if one.received_on is not None else frozenset()
        on = _day(released_at, zone)
        yield Trigger(Event.PICKUP_RELEASED, on, subject, one.released_seq, done=done, at=released_at)
        # What is asked after the receipt (a return of the receiving facility) outlasts the papers that close a pickup.
        if one.received_on is not None:
            yield Trigger(Event.PICKUP_RECEIVED, one.received_on, subject, one.received_seq)
    if released:
        last_at, last = max(released, key=lambda pair: (pair[0], pair[1].released_seq))
        yield Trigger(Event.LAST_PICKUP, _day(last_at, zone), SITE, last.released_seq)


def _of_milestones(reader: Reader, zone: tzinfo) -> Iterator[Trigger]:
    reached = {one.ref: one for one in reader.milestones()}
    for ref, event in (
        ("first_discharge", Event.FIRST_DISCHARGE),
        ("ownership_transferred", Event.OWNERSHIP_TRANSFERRED),
        ("stock_limit_reached", Event.STOCK_LIMIT_REACHED),
        ("satellite_limit_reached", Event.SATELLITE_LIMIT_REACHED),
    ):
        for fact in standing_milestones(reader, ref) if ref in reached else ():
            yield Trigger(event, _day(fact.happened_at, zone), SITE, fact.seq, at=fact.happened_at)
    # The report that 40 CFR 441.50(a) asks for: it answers that clause, also where a county restates it, and no other.
    for fact in reader.facts_about(Subject("milestone", "one_time_report_filed")) if _FILED in reached else ():
        on = _day(fact.happened_at, zone)
        yield Trigger(
            Event.DUTY_DONE,
            on,
            SITE,
            fact.seq,
            duty=Duty.ONE_TIME_REPORT.value,
            clause=_ONE_TIME_CLAUSE,
            at=fact.happened_at,
        )


_FILED = "one_time_report_filed"
_ONE_TIME_CLAUSE = "40cfr441.50"


def _of_line_cleaning(reader: Reader, zone: tzinfo) -> Iterator[Trigger]:
    last = newest_fact(reader, kinds.LineCleaning)
    if last is not None:
        yield Trigger(Event.LINE_CLEANED, _day(last.happened_at, zone), SITE, last.seq)


def _facts_of_kinds(reader: Reader, subject: Subject, *wanted: type[Body]) -> tuple[Fact, ...]:
    """The effective facts of some kinds about a subject, without reading its other entries."""
    names = (*(kind.KIND for kind in wanted), kinds.Correction.KIND)
    written: list[Entry] = list(reader.entries(Filter(subjects=(subject,), kinds=names, by_recorded=True)))
    return tuple(fact for fact in effective_facts(written) if isinstance(fact.body, wanted))
