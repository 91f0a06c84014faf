"""The recorded swaps of each trap and separator unit while it was in service, as the second opinion wants them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta, tzinfo

from wasteledger.estimate.prior import SEPARATOR_UNIT
from wasteledger.estimate.rhythm import TrapHistory
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import Correction, Look, Repair, Swap, UnitReplaced
from wasteledger.model.facts import Fact, Subject, effective_facts
from wasteledger.model.register import Register, SeparatorDetails, TrapDetails
from wasteledger.model.traps import Condition
from wasteledger.office.coverage import day_bounds

LOOK_BACK_DAYS = 730
"""How far before a period swaps are read, to learn each trap's rhythm: this program's own convention."""

_DAYS_A_MONTH = 365 / 12
_DAYS_A_YEAR = 365


@dataclass(frozen=True, slots=True)
class _Service:
    """One span with one kind of trap and one interval: from its first day to its last; None while it lasts."""

    kind: str
    room: str
    interval_days: int
    first_on: date
    last_on: date | None
    follows: bool  # on another span of the same trap, without a break


def swap_facts(reader: Reader, zone: tzinfo, first_on: date, last_on: date) -> tuple[Fact, ...]:
    """Swaps, exchanged units and replaced separators on the days from *first_on* to *last_on*, oldest first."""
    kinds = (Swap.KIND, UnitReplaced.KIND, Repair.KIND)
    return reader.facts_between(day_bounds(first_on, zone)[0], day_bounds(last_on, zone)[1], kinds)


def trap_histories(
    reader: Reader, zone: tzinfo, first_on: date, last_on: date, swaps: Iterable[Fact]
) -> tuple[TrapHistory, ...]:
    """The history of every trap and separator that was in service on some day of the period.

    A trap whose interval, or kind, was changed in the register has a history for each: its rhythm is another one.

    Args:
        reader: The site.
        zone: Its time zone.
        first_on: First day of the period.
        last_on: Last day.
        swaps: `swap_facts` from `LOOK_BACK_DAYS` before the period on.
    """
    days: defaultdict[Subject, set[date]] = defaultdict(set)
    for fact in swaps:
        if (subject := _swapped(fact)) is not None:
            days[subject].add(fact.happened_at.astimezone(zone).date())
    falls = _falls(reader, zone, first_on, last_on)
    known_from = first_on - timedelta(days=LOOK_BACK_DAYS)
    found: list[TrapHistory] = []
    subjects = [Subject("trap", trap.trap) for trap in reader.traps(retired=True)]
    subjects += [Subject("separator", one.separator) for one in reader.separators(retired=True)]
    for subject in subjects:
        swapped = sorted(days[subject])
        for service in _services(reader, zone, subject):
            to = last_on if service.last_on is None else min(service.last_on, last_on)
            if to < first_on or service.first_on > last_on:
                continue
            history = _history(subject, service, swapped, to, known_from)
            found.append(replace(history, falls=tuple(pair for pair in falls[subject.ref] if pair[1] <= to)))
    return tuple(found)


def _history(subject: Subject, service: _Service, swapped: list[date], to: date, known_from: date) -> TrapHistory:
    within = [day for day in swapped if service.first_on <= day <= to]
    begun = max(service.first_on, known_from)
    before = [day for day in swapped if day < service.first_on]
    if service.first_on < known_from and within:
        # The swap before these was not read: the gap that it began says nothing.
        begun = within[0]
    elif service.follows and before:
        begun = before[-1]
        within.insert(0, begun)
    return TrapHistory(subject.ref, service.kind, service.room, tuple(within), begun, to, service.interval_days)


def _services(reader: Reader, zone: tzinfo, subject: Subject) -> Iterator[_Service]:
    wanted = Filter(subjects=(subject,), kinds=(Register.KIND, Correction.KIND), by_recorded=True)
    running: _Service | None = None
    for fact in effective_facts(reader.entries(wanted)):
        if not isinstance(fact.body, Register) or not isinstance(fact.body.details, TrapDetails | SeparatorDetails):
            continue
        day = fact.happened_at.astimezone(zone).date()
        kind, room, interval_days = _told(fact.body.details)
        follows = False
        if running is not None:
            same = (running.kind, running.interval_days) == (kind, interval_days)
            if same and not fact.body.retired:
                running = replace(running, room=room)
                continue
            yield replace(running, last_on=day)
            follows, running = running.kind == kind, None
        if not fact.body.retired:
            running = _Service(kind, room, interval_days, day, None, follows)
    if running is not None:
        yield running


def _told(details: TrapDetails | SeparatorDetails) -> tuple[str, str, int]:
    if isinstance(details, TrapDetails):
        return details.trap_kind.value, details.room, details.interval_days
    months = details.replace_unit_every_months
    return SEPARATOR_UNIT, "", max(1, round(months * _DAYS_A_MONTH)) if months else _DAYS_A_YEAR


def _swapped(fact: Fact) -> Subject | None:
    match fact.body:
        case Swap(trap=trap):
            return Subject("trap", trap)
        case UnitReplaced(separator=separator) | Repair(separator=separator, action="replaced"):
            return Subject("separator", separator)
    return None


def _falls(reader: Reader, zone: tzinfo, first_on: date, last_on: date) -> defaultdict[str, list[tuple[date, date]]]:
    """Days on which each trap was seen clogged, and then clean, with no swap recorded between."""
    begin, end = day_bounds(first_on, zone)[0], day_bounds(last_on, zone)[1]
    clogged: dict[str, date] = {}
    found: defaultdict[str, list[tuple[date, date]]] = defaultdict(list)
    for fact in reader.facts_between(begin, end, (Look.KIND, Swap.KIND)):
        day = fact.happened_at.astimezone(zone).date()
        match fact.body:
            case Swap(trap=trap):
                clogged.pop(trap, None)
            case Look(trap=trap, condition=Condition.CLOGGED):
                clogged[trap] = day
            case Look(trap=trap, condition=Condition.CLEAN) if trap in clogged:
                found[trap].append((clogged.pop(trap), day))
    return found
