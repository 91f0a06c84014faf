"""How soon a container can leave: the carrier's lead time, and that of the empty one that takes its place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from wasteledger.ledger.reader import Reader
from wasteledger.model.register import CarrierDetails, ContainerTypeDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.ordinance import WorkCalendar

USUAL_LEAD_DAYS = 7
"""Days from asking a carrier to its coming, where no carrier is registered: this program's own convention."""

EMPTY_LEAD_DAYS = 7
"""Days from asking for an empty container to its coming, where its type does not say: this program's own convention."""

_SEARCH_DAYS = 3660


@dataclass(frozen=True, slots=True)
class Leads:
    """What a pickup of one container waits for, in calendar days from the day on which it is asked for.

    Attributes:
        carrier_days: Until the carrier that comes soonest is here.
        carrier: That carrier's short name; empty where none is registered.
        empty_days: Until an empty container of the type is here; 0 where none is needed.
        empty_because: Where that figure comes from, in words.
    """

    carrier_days: int
    carrier: str
    empty_days: int
    empty_because: str

    @property
    def days(self) -> int:
        """Until both are here: they are asked for on the same day."""
        return max(self.carrier_days, self.empty_days)

    @property
    def bottleneck(self) -> str:
        """Which of the two takes longer, in words."""
        if self.empty_days > self.carrier_days:
            return f"an empty container ({self.empty_because}) is here within {_days(self.empty_days)}"
        whose = f"carrier {self.carrier}" if self.carrier else "a carrier (own convention, none is registered)"
        return f"{whose} comes within {_days(self.carrier_days)}"


def carrier_lead(reader: Reader) -> tuple[int, str]:
    """The lead time of the registered carrier that comes soonest, in days, and its short name."""
    found = [
        (line.details.lead_days, line.ref)
        for line in reader.lines("carrier")
        if isinstance(line.details, CarrierDetails)
    ]
    return min(found, default=(USUAL_LEAD_DAYS, ""))


def leads_of(reader: Reader, container: ContainerStanding, carrier: tuple[int, str] | None = None) -> Leads:
    """What a pickup of *container* waits for.

    An open container wants an empty one in its place, unless another open one takes all its streams already.
    """
    carrier_days, name = carrier or carrier_lead(reader)
    if container.status != "open":
        return Leads(carrier_days, name, 0, "it is closed")
    wanted = set(container.streams)
    for other in reader.containers("open"):
        if other.container != container.container and wanted <= set(other.streams):
            return Leads(carrier_days, name, 0, f"container {other.container} takes its streams")
    line = reader.find_line("container_type", container.container_type)
    details = line.details if line is not None else None
    if isinstance(details, ContainerTypeDetails) and details.empty_lead_days is not None:
        return Leads(carrier_days, name, details.empty_lead_days, f"by the register's {container.container_type}")
    return Leads(carrier_days, name, EMPTY_LEAD_DAYS, "own convention, its type does not say")


def next_working_day(day: date, calendar: WorkCalendar) -> date:
    """The first working day on or after *day*; *day* itself where the practice is closed for years."""
    for ahead in range(_SEARCH_DAYS):
        if calendar.works_on(day + timedelta(days=ahead)):
            return day + timedelta(days=ahead)
    return day


def last_working_day(day: date, calendar: WorkCalendar, *, not_before: date) -> date:
    """The last working day on or before *day*, but never before *not_before*."""
    return max(not_before, calendar.last_working_day(day, not_before=not_before))


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
