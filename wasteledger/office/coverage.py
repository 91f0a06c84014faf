"""How complete the record is: looks made against looks due, and every blank by day and room.

Which looks are due is the office's own measure (a trap in service, a day on which the practice works), no rule's.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any

from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import Correction, Look, Swap
from wasteledger.model.facts import Subject, effective_facts
from wasteledger.model.register import Register, TrapDetails
from wasteledger.model.traps import Condition
from wasteledger.office.due import calendar_of
from wasteledger.office.plain import plain


@dataclass(frozen=True, slots=True)
class Blank:
    """Looks that were due in one room on one day and not made; *reason* is empty where none was given."""

    on: date
    room: str
    traps: tuple[str, ...]
    reason: str = ""

    @property
    def is_explained(self) -> bool:
        """Whether somebody said why."""
        return bool(self.reason)


@dataclass(frozen=True, slots=True)
class Coverage:
    """Looks made and looks due from *since* to *until*, both days included; every look not made is in a blank."""

    since: date
    until: date
    looks_made: int
    looks_due: int
    blanks: tuple[Blank, ...] = ()

    @property
    def unexplained(self) -> tuple[Blank, ...]:
        """Blanks for which nobody gave a reason."""
        return tuple(blank for blank in self.blanks if not blank.is_explained)

    def as_json(self) -> dict[str, Any]:
        """The coverage as JSON says it."""
        found: dict[str, Any] = plain(self)
        return found


@dataclass(frozen=True, slots=True)
class _Service:
    """One span for which a trap was in a room: from the first of these days, up to the second, which is outside."""

    trap: str
    room: str
    first_on: date
    end_on: date

    def covers(self, day: date) -> bool:
        return self.first_on <= day < self.end_on


def coverage(reader: Reader, zone: tzinfo, since: date, until: date) -> Coverage:
    """How many of the looks that were due from *since* to *until* were made.

    A look is due for every trap on every working day on which it was in service (not on the day it was retired). A
    swap counts as a look, and several looks on one day count once. A trap that was not looked at for a stated reason is
    a blank that is explained.

    Raises:
        Unknown: The site has no line in the register.
    """
    calendar = calendar_of(reader)
    days = [day for day in _days(since, until) if calendar.works_on(day)]
    if not days:
        return Coverage(since, until, 0, 0)
    services = _services(reader, zone)
    seen, reasons = _looks(reader, zone, since, until)
    due = made = 0
    blanks: defaultdict[tuple[date, str, str], list[str]] = defaultdict(list)
    for day in days:
        for service in services:
            if not service.covers(day):
                continue
            due += 1
            if (service.trap, day) in seen:
                made += 1
            else:
                blanks[day, service.room, reasons.get((service.trap, day), "")].append(service.trap)
    found = tuple(Blank(day, room, tuple(traps), reason) for (day, room, reason), traps in blanks.items())
    return Coverage(since, until, made, due, found)


def day_bounds(day: date, zone: tzinfo) -> tuple[datetime, datetime]:
    """The instants at which a local day begins and ends, in UTC; a day may have 23 or 25 hours."""
    return _midnight(day, zone), _midnight(day + timedelta(days=1), zone)


def looks_on(reader: Reader, zone: tzinfo, day: date) -> tuple[frozenset[str], dict[str, str]]:
    """The traps that were looked at or swapped on *day*, and the reasons given for those that were not."""
    seen, reasons = _looks(reader, zone, day, day)
    return frozenset(trap for trap, _ in seen), {trap: reason for (trap, _), reason in reasons.items()}


def _looks(
    reader: Reader, zone: tzinfo, since: date, until: date
) -> tuple[set[tuple[str, date]], dict[tuple[str, date], str]]:
    seen: set[tuple[str, date]] = set()
    reasons: dict[tuple[str, date], str] = {}
    for fact in reader.facts_between(_midnight(since, zone), day_bounds(until, zone)[1], (Look.KIND, Swap.KIND)):
        day = fact.happened_at.astimezone(zone).date()
        match fact.body:
            case Look(condition=Condition.NOT_LOOKED):
                reasons[fact.body.trap, day] = fact.body.reason or ""
            case Look() | Swap():
                seen.add((fact.body.trap, day))
    return seen, reasons


def _services(reader: Reader, zone: tzinfo) -> list[_Service]:
    """Every span of service of every trap, in walking order."""
    walks = {line.ref: getattr(line.details, "walk", 0) for line in reader.lines("room", retired=True)}
    found: list[_Service] = []
    for trap in sorted(reader.traps(retired=True), key=lambda one: (walks.get(one.room, 0), one.walk, one.trap)):
        subject = Subject("trap", trap.trap)
        wanted = Filter(subjects=(subject,), kinds=(Register.KIND, Correction.KIND), by_recorded=True)
        since: date | None = None
        room = trap.room
        for fact in effective_facts(reader.entries(wanted)):
            if not isinstance(fact.body, Register) or not isinstance(fact.body.details, TrapDetails):
                continue
            day = fact.happened_at.astimezone(zone).date()
            if since is not None and (fact.body.retired or fact.body.details.room != room):
                found.append(_Service(trap.trap, room, since, day))
                since = None
            room = fact.body.details.room
            if since is None and not fact.body.retired:
                since = day
        if since is not None:
            found.append(_Service(trap.trap, room, since, date.max))
    return found


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time.min, zone).astimezone(UTC)
