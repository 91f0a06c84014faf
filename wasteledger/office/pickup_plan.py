"""When containers should leave: a window for each, and the fewest pickup days that meet every window.

A window ends on the earliest day that a named rule sets, or that the forecast does: the last working day by which the
chance of being full keeps within the site's limit. It opens when it is worth it: at the container's planning mark (by
what stands in it, or as likely as not by forecast), or `NOT_EARLIER_DAYS` before its last day; and never before a
carrier, and an empty container in its place, can be here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta, tzinfo
from typing import Any

from wasteledger.estimate.fullness import Advice, Fullness
from wasteledger.estimate.rounding import statement
from wasteledger.forecast import windows as forecast
from wasteledger.forecast.windows import fewest_visits
from wasteledger.ledger.reader import Reader
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.due import calendar_of, due_from
from wasteledger.office.lead_times import Leads, carrier_lead, last_working_day, next_working_day
from wasteledger.office.masses import fullness_of, mass_of
from wasteledger.office.outlook import FillOutlook, Outlooks
from wasteledger.office.plain import plain
from wasteledger.office.workplace import Workplace, zone_of
from wasteledger.ordinance import Duty, Obligation, WorkCalendar

NOT_EARLIER_DAYS = 90
"""How long before its last day an unfinished container may leave: this program's own convention."""

MARK_DAYS = 30
"""Within how many days of the carrier's lead time a container at its mark leaves, where no forecast says more: this
program's own convention."""


@dataclass(frozen=True, slots=True)
class End:
    """A day by which something wants the container gone.

    Attributes:
        on: The last working day that meets it.
        binds: What sets it, in words; it names the rule.
        citation: The rule's clause; empty for a forecast or a convention.
        due_on: The last permitted day itself, where a rule sets one.
        is_forecast: The day is an estimate.
    """

    on: date
    binds: str
    citation: str = ""
    due_on: date | None = None
    is_forecast: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """The days on which one container should leave.

    Attributes:
        first_on, last_on: The first and the last of them, both working days; None where nothing sets a last day yet.
        opens_because: What sets the first day, in words.
        binds: What sets the last day, in words; it names the rule.
        citation: The rule's clause; empty for a forecast or a convention.
        due_on: The last permitted day itself, where a rule sets one.
        wanted_on: The day that was asked for; another than *last_on* where that had passed, or comes before a carrier.
        is_late: So it is; the first day possible is planned.
        is_forecast: The last day rests on a forecast.
        also: Later days that other rules or the forecast set.
        booked: The pickup that it is booked for, which takes it out of the plan.
        missed: The pickup that it was booked for on a day that has passed without a release; it is planned again.
        missed_on: That day.
        empty_days: Days that an empty container in its place takes to come; 0 where none is wanted.
        empty_because: Where that figure comes from.
        outlook: The forecast; None where there is none.
    """

    container: str
    status: str
    holds: str
    permille: int | None
    first_on: date
    last_on: date | None
    binds: str
    opens_because: str = ""
    citation: str = ""
    due_on: date | None = None
    wanted_on: date | None = None
    is_late: bool = False
    is_forecast: bool = False
    also: tuple[End, ...] = ()
    booked: str | None = None
    missed: str | None = None
    missed_on: date | None = None
    container_type: str = ""
    empty_days: int = 0
    empty_because: str = ""
    outlook: FillOutlook | None = None


@dataclass(frozen=True, slots=True)
class EmptyWanted:
    """An empty container to be asked for: its type, instead of which container, and by which day."""

    container_type: str
    instead_of: str
    ask_by: date
    comes_by: date


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """One pickup day: *bound_by* is the container whose last day sets it, *book_by* the last day to ask a carrier."""

    on: date
    containers: tuple[str, ...]
    bound_by: str
    binds: str
    book_by: date
    empties: tuple[EmptyWanted, ...] = ()


@dataclass(frozen=True, slots=True)
class PickupPlan:
    """Every container on site with its window, and the fewest days that meet them all."""

    today: date
    lead_days: int
    carrier: str
    windows: tuple[Window, ...]
    days: tuple[PlannedDay, ...]

    def as_json(self) -> dict[str, Any]:
        """The plan as JSON says it."""
        found: dict[str, Any] = plain(self)
        for window, said in zip(self.windows, found["windows"], strict=True):
            said["outlook"] = window.outlook.as_json() if window.outlook is not None else None
        return found


def plan_pickups(place: Workplace) -> PickupPlan:
    """Plan the pickups of what stands on site today.

    Raises:
        BadOrdinance: An ordinance in force cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        planning = _Planning(reader, zone_of(reader), today)
        windows = tuple(planning.window(one) for one in reader.containers("open", "closed"))
    return PickupPlan(today, *planning.carrier, windows, planning.days(windows))


class _Planning:
    """What the windows of one site share on one day."""

    def __init__(self, reader: Reader, zone: tzinfo, today: date) -> None:
        self._reader, self._today = reader, today
        self._calendar: WorkCalendar = calendar_of(reader)
        self._asked = due_from(reader, today).obligations
        self._outlooks = Outlooks(reader, zone, today)
        self.carrier = carrier_lead(reader)

    def window(self, container: ContainerStanding) -> Window:
        estimate = mass_of(self._reader, container)
        full = fullness_of(self._reader, container, estimate, self._outlooks.volumes)
        outlook = self._outlooks.find(container, worth=True)
        leads = self._outlooks.leads(container)
        booking = self._reader.find_pickup(container.pickup) if container.pickup else None
        missed = booking if booking is not None and booking.planned_on < self._today else None
        bare = Window(
            container=container.container,
            status=container.status,
            holds=statement(estimate),
            permille=full.permille,
            first_on=self._after(leads.days),
            last_on=None,
            binds="nothing sets a day yet",
            booked=container.pickup if missed is None else None,
            missed=missed.pickup if missed is not None else None,
            missed_on=missed.planned_on if missed is not None else None,
            container_type=container.container_type,
            empty_days=leads.empty_days,
            empty_because=leads.empty_because,
            outlook=outlook,
        )
        if not container.first_waste_at:
            return replace(bare, binds="empty")
        ends = sorted(self._ends(container, full, outlook, bare.first_on), key=lambda end: end.on)
        if not ends:
            return bare
        return self._opened(replace(bare, also=tuple(ends[1:])), ends[0], container, full, leads)

    def days(self, windows: Iterable[Window]) -> tuple[PlannedDay, ...]:
        """The fewest days for all windows that have a last day and are not booked already."""
        wanted = {one.container: one for one in windows if one.last_on is not None and one.booked is None}
        plan = fewest_visits((_bare(one) for one in wanted.values()), self._calendar.works_on, today=self._today)
        # A window always begins on a working day, so each is met.
        return tuple(
            PlannedDay(
                on=visit.on,
                containers=visit.containers,
                bound_by=visit.bound_by,
                binds=visit.binds,
                book_by=self._before(visit.on, self.carrier[0]),
                empties=tuple(self._empty(wanted[ref], visit.on) for ref in visit.containers if wanted[ref].empty_days),
            )
            for visit in plan.visits
        )

    def _empty(self, window: Window, on: date) -> EmptyWanted:
        ask_by = self._before(on, window.empty_days)
        return EmptyWanted(
            window.container_type, window.container, ask_by, max(on, ask_by + timedelta(days=window.empty_days))
        )

    # -- ends --------------------------------------------------------------------------------------------------------

    def _ends(
        self, container: ContainerStanding, full: Fullness, outlook: FillOutlook | None, possible_on: date
    ) -> Iterable[End]:
        rule = min(
            (one for one in self._asked if _speaks_of(one, container.container)),
            key=lambda one: one.advised_on,
            default=None,
        )
        if rule is not None:
            binds = f"{rule.title} ({rule.ordinance_title}), {rule.counted}"
            yield End(rule.advised_on, binds, rule.citation, rule.due_on)
        if outlook is not None and outlook.is_past_limit:
            yield End(self._today, _passed_words(outlook), is_forecast=not outlook.is_full)
        elif outlook is not None and outlook.within_limit_until is not None:
            yield End(outlook.within_limit_until, _limit_words(outlook), is_forecast=True)
        elif full.advice in (Advice.PLAN, Advice.CLOSE):
            mark_on = possible_on + timedelta(days=MARK_DAYS)
            yield End(last_working_day(mark_on, self._calendar, not_before=possible_on), _mark_words(full))

    def _opened(self, bare: Window, end: End, container: ContainerStanding, full: Fullness, leads: Leads) -> Window:
        """The window up to *end*, opened when it is worth it and possible."""
        worth_on, because = self._worth(end, container, full, bare.outlook)
        first_on, opens = bare.first_on, f"as soon as it can be: {leads.bottleneck}"
        carrier_on = self._after(leads.carrier_days)
        if carrier_on <= end.on < first_on:
            # A day that a rule sets does not wait for an empty container.
            first_on, opens = carrier_on, "the carrier can come; an empty container is here only later"
        if worth_on > first_on:
            first_on, opens = min(next_working_day(worth_on, self._calendar), end.on), because
        is_late = end.on < first_on
        if is_late:
            first_on = carrier_on
        return replace(
            bare,
            first_on=first_on,
            last_on=first_on if is_late else end.on,
            opens_because=opens,
            binds=end.binds,
            citation=end.citation,
            due_on=end.due_on,
            wanted_on=end.on,
            is_late=is_late,
            is_forecast=end.is_forecast,
        )

    def _worth(
        self, end: End, container: ContainerStanding, full: Fullness, outlook: FillOutlook | None
    ) -> tuple[date, str]:
        if container.status == "closed":
            return self._today, "it is closed"
        if full.advice in (Advice.PLAN, Advice.CLOSE):
            return self._today, "it is at its planning mark"
        early = (
            end.on - timedelta(days=NOT_EARLIER_DAYS),
            f"{NOT_EARLIER_DAYS} days before its last day (own convention)",
        )
        if outlook is None or outlook.worth_on is None:
            return early
        mark = f"{container.plan_at_permille / 10:.0f} %"
        marked = outlook.worth_on, f"by forecast it is then as likely as not at its planning mark of {mark}"
        return min(early, marked)

    # -- days --------------------------------------------------------------------------------------------------------

    def _after(self, days: int) -> date:
        return next_working_day(self._today + timedelta(days=days), self._calendar)

    def _before(self, on: date, days: int) -> date:
        """The last working day that lies so many days before *on*; today where that has passed."""
        return last_working_day(on - timedelta(days=days), self._calendar, not_before=self._today)


def _bare(window: Window) -> forecast.Window:
    return forecast.Window(
        container=window.container,
        not_before=window.first_on,
        not_after=window.last_on or window.first_on,
        binds=window.binds,
        opens_because=window.opens_because,
    )


def _speaks_of(asked: Obligation, container: str) -> bool:
    if asked.duty == Duty.SHIP_STOCK:
        return True
    return asked.duty == Duty.SHIP_CONTAINER and asked.subject == f"container {container}"


def _limit_words(outlook: FillOutlook) -> str:
    return (
        f"forecast: up to then the chance of being full by {outlook.measure} keeps within this site's "
        f"{outlook.limit_permille / 10:.0f} %"
    )


def _passed_words(outlook: FillOutlook) -> str:
    if outlook.is_full:
        return outlook.says
    return (
        f"forecast: the chance of being full by {outlook.measure} is above this site's "
        f"{outlook.limit_permille / 10:.0f} % today already"
    )


def _mark_words(full: Fullness) -> str:
    measure = full.governing.measure if full.governing else "fill"
    return (
        f"at {(full.permille or 0) / 10:.0f} % by {measure}; from its mark on it leaves within {MARK_DAYS} days of the "
        "carrier's lead time (own convention)"
    )
