"""What entries say of a pickup: booked, released, and the papers that came back."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from wasteledger.model.values import Body, Day, Line, Milligrams, Party, Ref, Text, Value, Whole


class PickupBooked(Body):
    """A carrier was asked to come."""

    KIND: ClassVar[str] = "pickup_booked"
    DERIVED: ClassVar[frozenset[str]] = frozenset({"carrier", "facility"})

    pickup: Ref
    carrier: Party
    facility: Party
    planned_on: Day
    containers: tuple[Ref, ...] = Field(min_length=1)
    reference: Line | None = None

    def said(self) -> dict[str, object]:
        """What the person said: of the parties only which they are; name and address come from the register."""
        return super().said() | {"carrier": self.carrier.ref, "facility": self.facility.ref}


class ReleasedContainer(Value):
    """What the ledger stated of a container as it left; papers print these figures, always."""

    container: Ref
    container_type: Ref
    streams: tuple[Ref, ...]
    first_waste_on: Day | None = None
    closed_on: Day
    basis: Literal["weighed", "estimate"]
    gross_mg: Milligrams | None = None
    tare_mg: Milligrams
    net_mg: Milligrams
    uncertainty_mg: Milligrams
    lower_mg: Milligrams
    upper_mg: Milligrams
    estimated_mg: Milligrams = 0
    swaps: Whole = 0
    deposits: Whole = 0
    unweighed: Whole = 0
    statement: Line


class PickupReleased(Body):
    """Containers left the site with the carrier."""

    KIND: ClassVar[str] = "pickup_released"
    DERIVED: ClassVar[frozenset[str]] = frozenset({"carrier", "facility", "containers"})

    pickup: Ref
    carrier: Party
    facility: Party
    containers: tuple[ReleasedContainer, ...] = Field(min_length=1)
    taken_by: Line
    document: Line | None = None


class ReceivedContainer(Value):
    """What the receiving facility says of one container: net mass of the contents."""

    container: Ref
    net_mg: Milligrams
    uncertainty_mg: Milligrams | None = None


class Receipt(Body):
    """A paper came back: the facility's signed copy, the certificate of recycling, or both in one."""

    KIND: ClassVar[str] = "receipt"

    pickup: Ref
    proves: Literal["received", "recycled", "both"]
    received_on: Day
    document: Line | None = None
    final_facility: Line | None = None
    containers: tuple[ReceivedContainer, ...] = ()
    total_mg: Milligrams | None = None
    discrepancy: Text | None = None
