"""How much waste a practice made and shipped in a period: what was weighed and what is an estimate, kept apart.

Made is what came into containers, whole as it lies there: debris, trap bodies, deposits. Shipped is what the releases
stated when it left; a later entry changes nothing of what a paper said.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.pooled import as_one
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import PickupReleased, Receipt
from wasteledger.model.facts import Subject
from wasteledger.model.standing import PickupStanding
from wasteledger.model.values import Party
from wasteledger.office.coverage import day_bounds
from wasteledger.office.learning import current_prior
from wasteledger.office.movements import Movement, movements_between
from wasteledger.office.one_amount import Amount, amount_of, stated, together
from wasteledger.office.restated import release_of
from wasteledger.office.sharing_out import came_in
from wasteledger.office.starting_values import mass_sources
from wasteledger.office.workplace import zone_of
from wasteledger.units import Mass

# A mass as reports say it is told where it is asked for.
__all__ = [
    "Amount",
    "Amounts",
    "ContainerAmount",
    "ShippedPickup",
    "amounts_between",
    "shipped_pickup",
    "stated",
    "together",
]


@dataclass(frozen=True, slots=True)
class ContainerAmount:
    """What came into one container in the period, and the entries that show it.

    *shared* says in words how a weighing that tells of more than the period was shared out; empty where none was.
    """

    container: str
    amount: Amount
    seqs: tuple[int, ...]
    shared: str = ""


@dataclass(frozen=True, slots=True)
class ShippedPickup:
    """One pickup that left in the period.

    Attributes:
        pickup: Which.
        left_on: The local day.
        carrier: Who took it, as the release recorded.
        facility: Who received it, as the release recorded.
        containers: Which containers left.
        document: The number of the paper that went along; empty where none was noted.
        amount: What the release stated.
        received_mg: What the facility states to have received in all; None where it does not, or not of all.
        received_on: When it did; None where no receipt came.
        recycled_on: The day of the proof of recycling; None where none came.
        final_facility: Where it was recycled in the end, as a receipt names it; empty where none does.
        seqs: The entries of the release and of the papers that came back.
    """

    pickup: str
    left_on: date
    carrier: Party
    facility: Party
    containers: tuple[str, ...]
    document: str
    amount: Amount
    received_mg: int | None
    received_on: date | None
    recycled_on: date | None
    final_facility: str
    seqs: tuple[int, ...]

    @property
    def received_words(self) -> str:
        """What the facility states, marked as its weighing and not ours."""
        if self.received_mg is None:
            return "no received weight of all of it is recorded"
        return f"the facility states {Mass(self.received_mg)} received"


@dataclass(frozen=True, slots=True)
class Amounts:
    """What a practice made and shipped from *since* to *until*, both days included, and what was there at the end."""

    since: date
    until: date
    made: tuple[ContainerAmount, ...]
    shipped: tuple[ShippedPickup, ...]
    on_site: Amount

    @property
    def made_in_all(self) -> Amount:
        """All containers together."""
        return together(one.amount for one in self.made)

    @property
    def shipped_in_all(self) -> Amount:
        """All pickups together."""
        return together(one.amount for one in self.shipped)

    @property
    def received_in_all_mg(self) -> int | None:
        """What facilities state of all pickups together; None where one of them is open, or none left."""
        stated = [one.received_mg for one in self.shipped]
        known = [mass_mg for mass_mg in stated if mass_mg is not None]
        return sum(known) if known and len(known) == len(stated) else None


def amounts_between(reader: Reader, since: date, until: date) -> Amounts:
    """What was made and shipped from *since* to *until*, local days, both included."""
    zone = zone_of(reader)
    begin, end = day_bounds(since, zone)[0], day_bounds(until, zone)[1]
    movements = movements_between(reader, since, until)
    return Amounts(
        since=since,
        until=until,
        made=tuple(one for one in (_made(reader, one, begin, end) for one in movements) if one.amount.basis != "none"),
        shipped=tuple(_shipped_between(reader, zone, since, until)),
        on_site=_on_site(reader, movements),
    )


def _made(reader: Reader, movement: Movement, begin: datetime, end: datetime) -> ContainerAmount:
    standing = movement.standing
    found = came_in(reader, standing.container, begin, end)
    seqs = {standing.opened_seq, standing.holding.base_seq, *found.seqs} - {0}
    return ContainerAmount(standing.container, found.amount, tuple(sorted(seqs)), found.shared)


def _on_site(reader: Reader, movements: Sequence[Movement]) -> Amount:
    """What stands there in the end, by one estimate of all of it, as the monthly count has it."""
    there = [one.standing.holding for one in movements if one.closing.mass is not None]
    return amount_of(standing_mass(as_one(there), current_prior(reader), mass_sources=mass_sources(reader)))


def _shipped_between(reader: Reader, zone: tzinfo, since: date, until: date) -> Iterable[ShippedPickup]:
    for pickup in reader.pickups("released", "received", "closed"):
        found = shipped_pickup(reader, zone, pickup)
        if found is not None and since <= found.left_on <= until:
            yield found


def shipped_pickup(reader: Reader, zone: tzinfo, pickup: PickupStanding) -> ShippedPickup | None:
    """One pickup as it left, and the papers that came back; None where it has not left."""
    facts = reader.facts_about(Subject("pickup", pickup.pickup))
    release = release_of(facts)
    if release is None or not isinstance(release.body, PickupReleased):
        return None
    body = release.body
    receipts = [(fact, fact.body) for fact in facts if isinstance(fact.body, Receipt)]
    return ShippedPickup(
        pickup=pickup.pickup,
        left_on=release.happened_at.astimezone(zone).date(),
        carrier=body.carrier,
        facility=body.facility,
        containers=tuple(one.container for one in body.containers),
        document=body.document or "",
        amount=stated(body.containers),
        received_mg=_received_mg([paper for _, paper in receipts], {one.container for one in body.containers}),
        received_on=pickup.received_on,
        recycled_on=pickup.recycled_on,
        final_facility=next((paper.final_facility for _, paper in receipts if paper.final_facility), ""),
        seqs=(release.seq, *(fact.seq for fact, _ in receipts)),
    )


def _received_mg(papers: Sequence[Receipt], containers: set[str]) -> int | None:
    """What the first paper that speaks of all containers states."""
    for paper in papers:
        if paper.total_mg is not None:
            return paper.total_mg
        if {one.container for one in paper.containers} == containers:
            return sum(one.net_mg for one in paper.containers)
    return None
