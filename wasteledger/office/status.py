"""What stands at the site now: containers, traps that want changing, the round, pickups and receipts, what is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from typing import Any

from wasteledger.errors import Unknown
from wasteledger.estimate.containers import Estimate
from wasteledger.estimate.fullness import Advice, Fullness
from wasteledger.estimate.rounding import figure, statement
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.facts import Subject
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.standing import ContainerStanding, PickupStanding
from wasteledger.model.traps import Condition
from wasteledger.office.balance import status_findings
from wasteledger.office.bookings import booking_findings
from wasteledger.office.coverage import Blank, Coverage, coverage
from wasteledger.office.due import DueList, due_from
from wasteledger.office.enquiries import HistoryRow, effective_at, rows_of
from wasteledger.office.masses import fullness_of, mass_of
from wasteledger.office.outlook import FillOutlook, Outlooks
from wasteledger.office.plain import plain
from wasteledger.office.received import findings_on, received_findings
from wasteledger.office.restated import Restated, restated_of, stated_at_release
from wasteledger.office.round_plan import RoundPlan, RoundRoom, RoundTrap, round_plan
from wasteledger.office.workplace import Workplace, site_details, zone_of

__all__ = [
    "Blank",
    "ContainerShown",
    "ContainerState",
    "Coverage",
    "OpenPickup",
    "RoundPlan",
    "RoundRoom",
    "RoundTrap",
    "Status",
    "TrapToSwap",
    "container_state",
    "coverage",
    "round_plan",
    "show_container",
    "status",
]

COVERAGE_DAYS = 7
"""The round is looked back on for so many days before today: this program's own convention."""


class NoSuchContainer(Unknown):
    """There is no container of that name."""

    code = "no-such-container"


@dataclass(frozen=True, slots=True)
class ContainerState:
    """One container now.

    Attributes:
        standing: What the journal makes of it.
        estimate: What it holds, in mg with its uncertainty.
        statement: The same in words, rounded; of one that has left, what was stated as it left.
        figure: The value alone with its mark, as reckoned now.
        fullness: How full it is, by level, mass and pieces.
        age_days: Days since the first waste went in; None while it is empty.
        advice: What to do, in words.
        outlook: When it will be full, by forecast; None where that was not asked for, or nothing can be told.
        is_stated_when_left: Whether *statement* is what its release stated.
    """

    standing: ContainerStanding
    estimate: Estimate
    statement: str
    figure: str
    fullness: Fullness
    age_days: int | None
    advice: str
    outlook: FillOutlook | None = None
    is_stated_when_left: bool = False

    @property
    def wants_attention(self) -> bool:
        """Whether it wants closing, or a pickup that nobody has booked, or may be full before one can come."""
        standing = self.standing
        if standing.status == "open" and self.fullness.advice is Advice.CLOSE:
            return True
        if self.outlook is not None and self.outlook.warns:
            return True
        asks = self.fullness.advice in (Advice.PLAN, Advice.CLOSE) or standing.status == "closed"
        return standing.status in ("open", "closed") and asks and standing.pickup is None

    def as_json(self) -> dict[str, Any]:
        """The container as JSON says it; every mass in mg."""
        standing = self.standing
        return {
            "container": standing.container,
            "container_type": standing.container_type,
            "streams": list(standing.streams),
            "status": standing.status,
            "place": standing.place,
            "pickup": standing.pickup,
            "opened_at": plain(standing.opened_at),
            "first_waste_at": plain(standing.first_waste_at),
            "closed_at": plain(standing.closed_at),
            "weighed_at": plain(standing.weighed_at),
            "age_days": self.age_days,
            "swaps": standing.swaps,
            "deposits": standing.deposits,
            "pieces": standing.pieces,
            "tare_mg": standing.tare_mg,
            "received_mg": standing.received_mg,
            "statement": self.statement,
            "stated_when_left": self.is_stated_when_left,
            "reckoned_now": statement(self.estimate),
            "figure": self.figure,
            "estimate": plain(self.estimate),
            "fullness": plain(self.fullness) | {"permille": self.fullness.permille, "is_least": self.fullness.is_least},
            "advice": self.advice,
            "outlook": self.outlook.as_json() if self.outlook is not None else None,
            "wants_attention": self.wants_attention,
        }


@dataclass(frozen=True, slots=True)
class ContainerShown:
    """A container, its whole history, oldest first, what is not explained yet, and whether its figure changed since.

    *restated* is None where it has not left, or what is reckoned now is what was stated then, learning apart.
    """

    state: ContainerState
    history: tuple[HistoryRow, ...]
    findings: tuple[Finding, ...] = ()
    restated: Restated | None = None

    def as_json(self) -> dict[str, Any]:
        """All of it as JSON says it."""
        history = [row.as_json() for row in self.history]
        return self.state.as_json() | {
            "findings": plain(self.findings),
            "restated": self.restated.as_json() if self.restated is not None else None,
            "history": history,
        }


@dataclass(frozen=True, slots=True)
class TrapToSwap:
    """A trap that wants changing, why in words, and since which day."""

    trap: str
    room: str
    why: str
    since: date


@dataclass(frozen=True, slots=True)
class OpenPickup:
    """A pickup that is not closed.

    Attributes:
        pickup: What the journal makes of it.
        days_open: Local days since it was released; None while it is only booked.
        awaits: What is still to come, in words.
    """

    pickup: PickupStanding
    days_open: int | None
    awaits: str


@dataclass(frozen=True, slots=True)
class Status:
    """What stands at a site on a day."""

    site: str
    name: str
    today: date
    containers: tuple[ContainerState, ...]
    traps_to_swap: tuple[TrapToSwap, ...]
    coverage: Coverage
    pickups: tuple[OpenPickup, ...]
    due: DueList
    findings: tuple[Finding, ...]

    @property
    def wants_attention(self) -> bool:
        """Whether anything here wants somebody to act."""
        return (
            any(one.wants_attention for one in self.containers)
            or bool(self.traps_to_swap)
            or bool(self.coverage.unexplained)
            or self.due.wants_attention
            or any(one.weight is not Weight.NOTE for one in self.findings)
        )

    def as_json(self) -> dict[str, Any]:
        """The status as JSON says it; the obligations are those overdue or due soon."""
        pressing = self.due.as_json()
        urgent = {"overdue", "due_soon"}
        return {
            "site": self.site,
            "name": self.name,
            "today": self.today.isoformat(),
            "wants_attention": self.wants_attention,
            "containers": [one.as_json() for one in self.containers],
            "traps_to_swap": plain(self.traps_to_swap),
            "coverage": self.coverage.as_json(),
            "pickups": plain(self.pickups),
            "obligations": [one for one in pressing["obligations"] if one["state"] in urgent],
            "undated": pressing["undated"],
            "findings": plain(self.findings),
        }


def status(place: Workplace) -> Status:
    """What stands at the site today.

    Raises:
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        zone = zone_of(reader)
        listed = due_from(reader, today)
        outlooks = Outlooks(reader, zone, today)
        containers = tuple(
            container_state(reader, one, zone, today, outlooks) for one in reader.containers("open", "closed")
        )
        return Status(
            site=reader.site,
            name=site_details(reader).name,
            today=today,
            containers=containers,
            traps_to_swap=_traps_to_swap(reader, zone, today),
            coverage=coverage(reader, zone, today - timedelta(days=COVERAGE_DAYS), today - timedelta(days=1)),
            pickups=tuple(_open_pickup(one, zone, today) for one in reader.pickups("booked", "released", "received")),
            due=listed,
            findings=(
                *listed.findings,
                *_findings(reader),
                *status_findings(reader, zone, today),
                *received_findings(reader),
                *booking_findings(reader, today),
            ),
        )


def show_container(place: Workplace, ref: str) -> ContainerShown:
    """Container *ref* as it stands, and every entry that speaks of it.

    Raises:
        NoSuchContainer: There is none of that name.
    """
    today = place.today()
    with place.reading() as reader:
        zone = zone_of(reader)
        standing = reader.find_container(ref)
        if standing is None:
            there = ", ".join(one.container for one in reader.containers("open", "closed")) or "none"
            raise NoSuchContainer(f"There is no container “{ref}”.", hint=f"On site now: {there}.")
        entries = tuple(reader.entries(Filter(subjects=(Subject("container", ref),))))
        state = container_state(reader, standing, zone, today, Outlooks(reader, zone, today))
        found = findings_on(reader, standing.pickup, ref)
        changed = restated_of(reader, standing.pickup) if standing.pickup else ()
        restated = next((one for one in changed if one.container == ref), None)
        return ContainerShown(state, rows_of(reader, entries, zone), found, restated)


def container_state(
    reader: Reader, standing: ContainerStanding, zone: tzinfo, today: date, outlooks: Outlooks | None = None
) -> ContainerState:
    """What stands in a container, how full it is, how old, and what to do; and its forecast, with *outlooks*."""
    outlook = outlooks.find(standing) if outlooks is not None else None
    estimate = mass_of(reader, standing)
    fullness = fullness_of(reader, standing, estimate, outlooks.volumes if outlooks is not None else None)
    first = standing.first_waste_at
    left = stated_at_release(reader, standing.container, standing.pickup)
    return ContainerState(
        standing=standing,
        estimate=estimate,
        statement=left.statement if left is not None else statement(estimate),
        figure=figure(estimate),
        fullness=fullness,
        age_days=(today - first.astimezone(zone).date()).days if first is not None else None,
        advice=_advice(standing, fullness, outlook),
        outlook=outlook,
        is_stated_when_left=left is not None,
    )


def _advice(standing: ContainerStanding, fullness: Fullness, outlook: FillOutlook | None) -> str:
    if standing.status in ("released", "received"):
        return f"gone with pickup {standing.pickup}"
    booked = f"waits for pickup {standing.pickup}" if standing.pickup else ""
    if standing.status == "closed":
        return booked or "closed: book a pickup"
    if fullness.advice is Advice.CLOSE:
        return "close it and open another" + (f", {booked}" if booked else "")
    soon = outlook is not None and outlook.warns
    if booked:
        return f"{booked}, and may be full before" if soon else booked
    if soon:
        return "book a pickup now: it may be full before one can come"
    if fullness.advice is Advice.PLAN:
        return "plan a pickup"
    if fullness.advice is Advice.NOT_KNOWN:
        return "no limit known: read its level, or enter the limits of its type"
    return "fine, but may be fuller than stated: read its level" if fullness.is_least else "fine"


def _traps_to_swap(reader: Reader, zone: tzinfo, today: date) -> tuple[TrapToSwap, ...]:
    found = []
    for trap in reader.traps():
        began = max(at for at in (trap.in_service_at, trap.last_swap_at) if at is not None)
        since = began.astimezone(zone).date()
        looked = trap.last_look_at is not None and trap.last_look_at >= began
        end = since + timedelta(days=trap.details.interval_days)
        if trap.drying_seq:
            left = effective_at(reader.get_entry(trap.drying_seq))
            found.append(TrapToSwap(trap.trap, trap.room, "left to dry", left.astimezone(zone).date()))
        elif looked and trap.last_look_at and trap.last_condition in (Condition.CLOGGED, Condition.DAMAGED):
            seen = trap.last_look_at.astimezone(zone).date()
            found.append(TrapToSwap(trap.trap, trap.room, trap.last_condition.words, seen))
        elif end < today:
            why = f"in service longer than {trap.details.interval_days} days ({trap.details.interval_origin})"
            found.append(TrapToSwap(trap.trap, trap.room, why, end))
    return tuple(found)


def _open_pickup(pickup: PickupStanding, zone: tzinfo, today: date) -> OpenPickup:
    if pickup.released_at is None:
        return OpenPickup(pickup, None, f"the carrier, on {pickup.planned_on.isoformat()}")
    days = (today - pickup.released_at.astimezone(zone).date()).days
    awaits = "proof of recycling" if pickup.received_seq else "receipt and proof of recycling"
    return OpenPickup(pickup, days, awaits)


def _findings(reader: Reader) -> tuple[Finding, ...]:
    found = [
        Finding(
            "separator-malfunction",
            f"separator {separator.separator}",
            "It was found not to work properly, and no repair or replacement is recorded.",
            "Have it repaired or replaced, and record who did what.",
            Weight.URGENT,
            (separator.malfunction_seq,),
        )
        for separator in reader.separators()
        if separator.malfunction_seq
    ]
    if not reader.lines("ordinance"):
        says = "No ordinance is in force, so no date is counted from any rule."
        found.append(Finding("no-ordinance", "register", says, "Put one in force.", Weight.WARNING))
    return tuple(found)
