"""What a pickup's papers state: the figures that its release recorded, or before that a draft from the standing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.containers import BudgetLine, Estimate
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Correction, PickupBooked, PickupReleased, ReleasedContainer, Remark
from wasteledger.model.facts import Entry, Subject, replaced_body
from wasteledger.model.standing import PickupStanding
from wasteledger.model.values import Party
from wasteledger.office.naming import Naming
from wasteledger.office.pickups import get_pickup, released_container
from wasteledger.office.restated import released_body
from wasteledger.office.workplace import Workplace

_K_PERMILLE = 1960  # k for 95 % of a normal distribution


class NothingToAskFor(WasteLedgerError):
    """No receipt is open for that pickup."""

    code = "nothing-to-ask-for"


@dataclass(frozen=True)
class Shipment:
    """A pickup with what its papers state.

    Attributes:
        pickup: What the journal makes of it.
        rests_on: The entry of the release, else the end of the chain.
        is_draft: It has not been released, so the figures are those of the standing.
        carrier: As the entry recorded it.
        facility: As the entry recorded it.
        containers: Figures of each container.
        weighed: Sum of the weighed ones in words; empty where there is none.
        weighed_mg: The same in mg.
        estimated: Sum of the estimated ones in words; empty where there is none.
        combined: Both together in words, where there are both.
        naming: The register as it stood at *rests_on*.
    """

    pickup: PickupStanding
    rests_on: Entry
    is_draft: bool
    carrier: Party
    facility: Party
    containers: tuple[ReleasedContainer, ...]
    weighed: str
    weighed_mg: int
    estimated: str
    combined: str
    naming: Naming


def shipment_of(place: Workplace, reader: Reader, ref: str) -> Shipment:
    """What the papers of pickup *ref* state; after the release always the same.

    Raises:
        NotThereYet: No such pickup.
    """
    pickup = get_pickup(reader, ref)
    if pickup.released_seq:
        entry = reader.get_entry(pickup.released_seq)
        body = released_body(entry)
        if body is not None:
            return _shipment(reader, pickup, entry, body, body.containers)
    booked = _booking(reader, pickup)
    containers = tuple(released_container(place, reader, one) for one in pickup.containers)
    return _shipment(reader, pickup, chain_end(reader), booked, containers)


def chain_end(reader: Reader) -> Entry:
    """The last entry of the site's chain.

    Raises:
        EntryUnknown: There is none.
    """
    end = reader.chain_end()
    return reader.get_entry(end.entries if end else 0)


def open_since(place: Workplace, pickup: PickupStanding) -> tuple[date, int]:
    """The local day on which a pickup left whose papers are still open, and how many days ago that is.

    Raises:
        NothingToAskFor: It has not left, or its recycling is proved.
    """
    if pickup.released_at is None:
        raise NothingToAskFor(f"Pickup {pickup.pickup} has not left yet.", hint="Record its release first.")
    if pickup.status == "closed":
        raise NothingToAskFor(
            f"The recycling of pickup {pickup.pickup} is proved since entry {pickup.recycled_seq}.",
            hint="There is nothing left to ask for.",
        )
    left_on = place.local(pickup.released_at).date()
    return left_on, (place.today() - left_on).days


def remarks_on(reader: Reader, pickup: PickupStanding) -> tuple[tuple[datetime, str], ...]:
    """What was noted on a pickup since it left, oldest first."""
    return tuple(
        (fact.happened_at, " ".join(fact.body.text.split()))
        for fact in reader.facts_about(Subject("pickup", pickup.pickup))
        if isinstance(fact.body, Remark) and pickup.released_at is not None and fact.happened_at >= pickup.released_at
    )


def _shipment(
    reader: Reader,
    pickup: PickupStanding,
    rests_on: Entry,
    body: PickupReleased | PickupBooked,
    containers: tuple[ReleasedContainer, ...],
) -> Shipment:
    weighed = [one for one in containers if one.basis == "weighed"]
    estimated = [one for one in containers if one.basis == "estimate"]
    return Shipment(
        pickup=pickup,
        rests_on=rests_on,
        is_draft=isinstance(body, PickupBooked),
        carrier=body.carrier,
        facility=body.facility,
        containers=containers,
        weighed=statement(_sum(weighed)) if weighed else "",
        weighed_mg=sum(one.net_mg for one in weighed),
        estimated=statement(_sum(estimated)) if estimated else "",
        combined=statement(_sum([*weighed, *estimated])) if weighed and estimated else "",
        naming=Naming(reader, rests_on.seq),
    )


def _sum(containers: list[ReleasedContainer]) -> Estimate:
    """The containers together; their uncertainties are added, not their squares.

    One scale's tolerance and one kind's mean mass are wrong the same way in every container (JCGM 100:2008, 5.2.2,
    note 1: fully correlated inputs), so this is the wider of the two sums.
    """
    weighed = [one for one in containers if one.basis == "weighed"]
    is_weighed = len(weighed) == len(containers)
    lower, upper = sum(one.lower_mg for one in containers), sum(one.upper_mg for one in containers)
    expanded = sum(one.uncertainty_mg for one in containers) if is_weighed else (upper - lower + 1) // 2
    scale = sum(one.uncertainty_mg for one in weighed) * 1000 // _K_PERMILLE
    unknown = sum(one.unweighed for one in containers)
    return Estimate(
        value_mg=sum(one.net_mg for one in containers),
        standard_uncertainty_mg=expanded * 1000 // _K_PERMILLE,
        lower_mg=lower,
        upper_mg=upper,
        expanded_mg=expanded,
        weighed_mg=sum(one.net_mg for one in weighed),
        estimated_mg=sum(one.estimated_mg for one in containers),
        inserts_mg=0,
        basis="weighed" if is_weighed else "estimate",
        unknown=(("pieces", unknown),) if unknown else (),
        budget=(BudgetLine("scale", scale),),
    )


def _booking(reader: Reader, pickup: PickupStanding) -> PickupBooked:
    body = reader.get_entry(pickup.booked_seq).body
    if isinstance(body, Correction) and body.replacement is not None:
        body = replaced_body(body.replacement)
    if not isinstance(body, PickupBooked):
        raise WasteLedgerError(f"Entry {pickup.booked_seq} does not book pickup {pickup.pickup}.")
    return body
