"""When containers should leave: a window for each, and the fewest pickup days that meet every window.

A window ends on the earliest day that a named rule or the fill mark sets, and begins when a carrier can come. A
container that is neither closed nor at its mark is not sent early: its window opens only `NOT_EARLIER_DAYS` before its
last day. When it will be full is not forecast here; the day that binds rests on rules and on what stands in it now.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from wasteledger.estimate.fullness import Advice, Fullness
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.register import CarrierDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.due import calendar_of, due_from
from wasteledger.office.masses import fullness_of, mass_of
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import Duty, Obligation, WorkCalendar

NOT_EARLIER_DAYS = 90
"""How long before its last day an unfinished container may leave: this program's own convention."""

MARK_DAYS = 30
"""Within how many days of the carrier's lead time a container at its mark leaves: this program's own convention."""

USUAL_LEAD_DAYS = 7
"""Taken where no carrier is registered."""

_SEARCH_DAYS = 3660


@dataclass(frozen=True, slots=True)
class Window:
    """The days on which one container should leave.

    Attributes:
        first_on, last_on: The first and the last of them, both working days; None where nothing sets a last day yet.
        binds: What sets the last day, in words; it names the rule.
        citation: The rule's clause; empty for a convention of the office or this program.
        due_on: The last permitted day itself, where a rule sets one.
        is_late: The last day has passed, or comes before a carrier can; the first day possible is planned.
        booked: The pickup that it is booked for, which takes it out of the plan.
    """

    container: str
    status: str
    holds: str
    permille: int | None
    first_on: date
    last_on: date | None
    binds: str
    citation: str = ""
    due_on: date | None = None
    is_late: bool = False
    booked: str | None = None


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """One pickup day; *bound_by* is the container whose last day sets it."""

    on: date
    containers: tuple[str, ...]
    bound_by: str
    binds: str


@dataclass(frozen=True, slots=True)
class PickupPlan:
    """Every container on site with its window, and the fewest days that meet them all."""

    today: date
    lead_days: int
    windows: tuple[Window, ...]
    days: tuple[PlannedDay, ...]


def plan_pickups(place: Workplace) -> PickupPlan:
    """Plan the pickups of what stands on site today.

    Raises:
        BadOrdinance: An ordinance in force cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        calendar = calendar_of(reader)
        lead_days = _lead_days(reader)
        asked = due_from(reader, today).obligations
        windows = tuple(
            _window(reader, one, asked, today, today + timedelta(days=lead_days), calendar)
            for one in reader.containers("open", "closed")
        )
    return PickupPlan(today, lead_days, windows, fewest_days(windows))


def fewest_days(windows: Iterable[Window]) -> tuple[PlannedDay, ...]:
    """The fewest days that meet every window which has a last day and is not booked already.

    The container that must leave soonest sets the first day, as late as it may; all whose windows hold that day go
    along; and so on with the rest. No plan has fewer days (interval stabbing by the earliest end).
    """
    left = sorted(
        (window for window in windows if window.last_on is not None and window.booked is None),
        key=lambda window: (window.last_on, window.container),
    )
    days: list[PlannedDay] = []
    while left:
        soonest = left[0]
        on = soonest.last_on or soonest.first_on
        going = [window for window in left if window.first_on <= on]
        left = [window for window in left if window.first_on > on]
        days.append(PlannedDay(on, tuple(sorted(one.container for one in going)), soonest.container, soonest.binds))
    return tuple(days)


def _window(
    reader: Reader,
    container: ContainerStanding,
    asked: tuple[Obligation, ...],
    today: date,
    possible_on: date,
    calendar: WorkCalendar,
) -> Window:
    estimate = mass_of(reader, container)
    full = fullness_of(container, estimate)
    first_on = _next_working_day(possible_on, calendar)
    worth_it = container.status == "closed" or full.advice in (Advice.PLAN, Advice.CLOSE)
    bare = Window(
        container=container.container,
        status=container.status,
        holds=statement(estimate),
        permille=full.permille,
        first_on=first_on,
        last_on=None,
        binds="nothing sets a day yet",
        booked=container.pickup,
    )
    if not container.first_waste_at:
        return replace(bare, binds="empty")
    rule = min(
        (one for one in asked if _speaks_of(one, container.container)), key=lambda one: one.advised_on, default=None
    )
    wanted_on = rule.advised_on if rule else None
    if full.advice in (Advice.PLAN, Advice.CLOSE):
        mark_on = calendar.last_working_day(first_on + timedelta(days=MARK_DAYS), not_before=first_on)
        if wanted_on is None or mark_on < wanted_on:
            return replace(bare, last_on=mark_on, binds=_mark_words(full))
    if rule is None or wanted_on is None:
        return bare
    if not worth_it:
        opens_on = _next_working_day(max(first_on, wanted_on - timedelta(days=NOT_EARLIER_DAYS)), calendar)
        first_on = opens_on if opens_on <= wanted_on else first_on
    is_late = wanted_on < first_on
    return replace(
        bare,
        first_on=first_on,
        last_on=first_on if is_late else wanted_on,
        binds=f"{rule.title} ({rule.ordinance_title}), {rule.counted}",
        citation=rule.citation,
        due_on=rule.due_on,
        is_late=is_late,
    )


def _speaks_of(asked: Obligation, container: str) -> bool:
    if asked.duty == Duty.SHIP_STOCK:
        return True
    return asked.duty == Duty.SHIP_CONTAINER and asked.subject == f"container {container}"


def _mark_words(full: Fullness) -> str:
    measure = full.governing.measure if full.governing else "fill"
    return (
        f"at {(full.permille or 0) / 10:.0f} % by {measure}; from its mark on it leaves within {MARK_DAYS} days of the "
        "carrier's lead time (own convention)"
    )


def _lead_days(reader: Reader) -> int:
    found = [line.details.lead_days for line in reader.lines("carrier") if isinstance(line.details, CarrierDetails)]
    return min(found, default=USUAL_LEAD_DAYS)


def _next_working_day(day: date, calendar: WorkCalendar) -> date:
    for ahead in range(_SEARCH_DAYS):
        if calendar.works_on(day + timedelta(days=ahead)):
            return day + timedelta(days=ahead)
    return day
