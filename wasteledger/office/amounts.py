"""How much waste a practice made and shipped in a period: what was weighed and what is an estimate, kept apart.

Made is what came into containers, whole as it lies there: debris, trap bodies, deposits. Shipped is what the releases
stated when it left; a later entry changes nothing of what a paper said.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Literal

from wasteledger.estimate.containers import BudgetLine, Estimate
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import PickupReleased, Receipt, ReleasedContainer
from wasteledger.model.facts import Subject
from wasteledger.model.standing import PickupStanding
from wasteledger.model.values import Party
from wasteledger.office.movements import Movement, movements_between
from wasteledger.office.restated import release_of
from wasteledger.office.workplace import zone_of
from wasteledger.units import Mass

_K_PERMILLE = 1960  # k for 95 % of a normal distribution


@dataclass(frozen=True, slots=True)
class Amount:
    """A mass of waste in mg, with the ends of its 95 % interval and how much of it stood on a scale.

    Attributes:
        value_mg: Of what has a known or an estimated mass.
        lower_mg: Lower end; ends are added, so that what is wrong alike in every container is wrong in the sum.
        upper_mg: Upper end.
        weighed_mg: The part that stood on a scale.
        weighed_expanded_mg: Expanded uncertainty (95 %) of that part.
        basis: ``weighed`` where all of it did, ``none`` where there is nothing, else ``estimate``.
        unknown_pieces: Pieces in it whose mass nothing tells; they are not in the value.
    """

    value_mg: int = 0
    lower_mg: int = 0
    upper_mg: int = 0
    weighed_mg: int = 0
    weighed_expanded_mg: int = 0
    basis: Literal["weighed", "estimate", "none"] = "none"
    unknown_pieces: int = 0

    @property
    def words(self) -> str:
        """The amount as papers say it: "about 230 g, between 80 g and 540 g (95 %), estimate, of which …"."""
        if self.basis == "none":
            return "nothing"
        half = (self.upper_mg - self.lower_mg + 1) // 2
        return statement(
            Estimate(
                value_mg=self.value_mg,
                standard_uncertainty_mg=half * 1000 // _K_PERMILLE,
                lower_mg=self.lower_mg,
                upper_mg=self.upper_mg,
                expanded_mg=half,
                weighed_mg=self.weighed_mg,
                estimated_mg=self.value_mg - self.weighed_mg,
                inserts_mg=0,
                basis=self.basis,
                unknown=(("pieces", self.unknown_pieces),) if self.unknown_pieces else (),
                budget=(BudgetLine("scale", self.weighed_expanded_mg * 1000 // _K_PERMILLE),),
            )
        )


@dataclass(frozen=True, slots=True)
class ContainerAmount:
    """What came into one container in the period, and the entries that show it."""

    container: str
    amount: Amount
    seqs: tuple[int, ...]


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
    movements = movements_between(reader, since, until)
    return Amounts(
        since=since,
        until=until,
        made=tuple(one for one in map(_made, movements) if one.amount.basis != "none"),
        shipped=tuple(_shipped_between(reader, zone, since, until)),
        on_site=together(_of(one.closing.mass) for one in movements),
    )


def together(parts: Iterable[Amount]) -> Amount:
    """Several amounts as one; their ends are added, not their squares.

    One scale's tolerance and one kind's mean mass are wrong the same way in every container (JCGM 100:2008, 5.2.2,
    note 1: fully correlated inputs), so this is the wider of the two sums.
    """
    some = [one for one in parts if one.basis != "none"]
    if not some:
        return Amount()
    return Amount(
        value_mg=sum(one.value_mg for one in some),
        lower_mg=max(0, sum(one.lower_mg for one in some)),
        upper_mg=sum(one.upper_mg for one in some),
        weighed_mg=sum(one.weighed_mg for one in some),
        weighed_expanded_mg=sum(one.weighed_expanded_mg for one in some),
        basis="weighed" if all(one.basis == "weighed" for one in some) else "estimate",
        unknown_pieces=sum(one.unknown_pieces for one in some),
    )


def stated(containers: Sequence[ReleasedContainer]) -> Amount:
    """What a release stated of some containers together."""
    return together(_stated(one) for one in containers)


def _made(movement: Movement) -> ContainerAmount:
    """What came into one container: all that it held in the end, less what was there at the beginning."""
    standing, released = movement.standing, movement.released
    final = _stated(released) if released is not None else _of(movement.closing.mass)
    opening = _of(movement.opening.mass)
    if opening.basis == "none":
        amount = final
    elif movement.adjustment is None:
        amount = _of(movement.put_in.mass)
    else:
        amount = _less(final, opening)
    seqs = {standing.opened_seq, standing.holding.base_seq} - {0}
    return ContainerAmount(standing.container, amount, tuple(sorted(seqs)))


def _less(final: Amount, opening: Amount) -> Amount:
    """The widest that both allow: what they have in common is not taken out. Nothing less than nothing came in."""
    is_weighed = final.basis == "weighed" and opening.basis == "weighed"
    value_mg = max(0, final.value_mg - opening.value_mg)
    return Amount(
        value_mg=value_mg,
        lower_mg=max(0, final.lower_mg - opening.upper_mg),
        upper_mg=max(0, final.upper_mg - opening.lower_mg),
        weighed_mg=value_mg if is_weighed else 0,
        weighed_expanded_mg=final.weighed_expanded_mg + opening.weighed_expanded_mg if is_weighed else 0,
        basis="weighed" if is_weighed else "estimate",
        unknown_pieces=max(0, final.unknown_pieces - opening.unknown_pieces),
    )


def _of(mass: Estimate | None) -> Amount:
    if mass is None or mass.basis == "empty":
        return Amount()
    return Amount(
        value_mg=mass.value_mg,
        lower_mg=mass.lower_mg,
        upper_mg=mass.upper_mg,
        weighed_mg=mass.weighed_mg,
        weighed_expanded_mg=-(-mass.scale_mg * _K_PERMILLE // 1000),
        basis=mass.basis,
        unknown_pieces=mass.unknown_pieces,
    )


def _stated(one: ReleasedContainer) -> Amount:
    is_weighed = one.basis == "weighed"
    return Amount(
        value_mg=one.net_mg,
        lower_mg=one.lower_mg,
        upper_mg=one.upper_mg,
        # Of a mixed content the release does not keep apart what stood on a scale.
        weighed_mg=one.net_mg if is_weighed else 0,
        weighed_expanded_mg=one.uncertainty_mg if is_weighed else 0,
        basis=one.basis,
        unknown_pieces=one.unweighed,
    )


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
