"""The standing of a pickup: booked, released, and which papers have come back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Self

from wasteledger.errors import WasteLedgerError
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing.refusals import AlreadyThere, NotAsBooked, NotReleased, NotThereYet


@dataclass(frozen=True, slots=True)
class PickupStanding:
    """One pickup; two papers close it: what left, and the proof of final recycling."""

    pickup: str
    status: str  # booked, released, received, closed
    planned_on: date
    carrier: str
    facility: str
    booked_seq: int
    booked_at: datetime
    last_at: datetime
    containers: tuple[str, ...] = ()
    released_seq: int = 0
    released_at: datetime | None = None
    received_seq: int = 0
    received_on: date | None = None
    recycled_seq: int = 0
    recycled_on: date | None = None

    @property
    def began_at(self) -> datetime:
        """When its history begins."""
        return self.booked_at

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The pickup as it was booked.

        Raises:
            NotReleased: A receipt for a pickup that nobody booked.
            NotThereYet: Anything else for a pickup that nobody booked.
        """
        body = fact.body
        if isinstance(body, kinds.Receipt):
            raise NotReleased(subject.ref)
        if not isinstance(body, kinds.PickupBooked):
            raise NotThereYet("pickup", subject.ref)
        return cls(
            pickup=subject.ref,
            status="booked",
            planned_on=body.planned_on,
            carrier=body.carrier.ref,
            facility=body.facility.ref,
            booked_seq=fact.seq,
            booked_at=fact.happened_at,
            last_at=fact.happened_at,
            containers=tuple(sorted(set(body.containers))),
        )

    def after(self, fact: Fact) -> Self:
        """The pickup after its release, a receipt, or a remark.

        Raises:
            AlreadyThere: Booked, released, received or proved a second time.
            NotAsBooked: Other containers than those booked.
            NotReleased: A receipt before the release.
        """
        body = fact.body
        if isinstance(body, kinds.PickupBooked):
            raise AlreadyThere("pickup", self.pickup, self.booked_at)
        if isinstance(body, kinds.PickupReleased):
            return self._released(fact, body)
        if isinstance(body, kinds.Receipt):
            return self._received(fact, body)
        return replace(self, last_at=fact.happened_at)

    def _released(self, fact: Fact, body: kinds.PickupReleased) -> Self:
        if self.released_at is not None:
            raise AlreadyThere("release of pickup", self.pickup, self.released_at)
        leaving = tuple(sorted(one.container for one in body.containers))
        if leaving != self.containers:
            raise NotAsBooked(
                f"Pickup {self.pickup} was booked for {', '.join(self.containers)}, not for {', '.join(leaving)}.",
                hint="Release what was booked, or correct the booking.",
            )
        return replace(
            self,
            status="released",
            released_seq=fact.seq,
            released_at=fact.happened_at,
            carrier=body.carrier.ref,
            facility=body.facility.ref,
            last_at=fact.happened_at,
        )

    def _received(self, fact: Fact, body: kinds.Receipt) -> Self:
        if self.released_at is None:
            raise NotReleased(self.pickup)
        strangers = sorted({one.container for one in body.containers} - set(self.containers))
        if strangers:
            raise NotAsBooked(
                f"Pickup {self.pickup} did not hold {', '.join(strangers)}.",
                hint=f"It held {', '.join(self.containers)}.",
            )
        proves_receipt = body.proves in ("received", "both")
        proves_recycling = body.proves in ("recycled", "both")
        if (proves_receipt and self.received_seq) or (proves_recycling and self.recycled_seq):
            already = self.received_seq if proves_receipt and self.received_seq else self.recycled_seq
            raise SecondReceipt(self.pickup, already)
        return replace(
            self,
            status="closed" if proves_recycling else ("received" if self.status == "released" else self.status),
            received_seq=fact.seq if proves_receipt else self.received_seq,
            received_on=body.received_on if proves_receipt else self.received_on,
            recycled_seq=fact.seq if proves_recycling else self.recycled_seq,
            recycled_on=body.received_on if proves_recycling else self.recycled_on,
            last_at=fact.happened_at,
        )


class SecondReceipt(WasteLedgerError):
    """The same paper of one pickup was recorded before."""

    code = "second-receipt"

    def __init__(self, pickup: str, seq: int) -> None:
        super().__init__(
            f"That paper of pickup {pickup} was recorded before, as entry {seq}.",
            hint=f"If entry {seq} is wrong, correct it.",
        )
