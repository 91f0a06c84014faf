"""The standing of a container: open, closed or gone; what went in; its last weighing and its last level."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Self

from wasteledger.model import entries as kinds
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing.refusals import (
    AlreadyThere,
    BelowTare,
    ContainerGone,
    ContainerSealed,
    NotAsBooked,
    NotClosed,
    NotThereYet,
    WrongStream,
)
from wasteledger.model.traps import Condition, Insert

FULL_AFTER = 2
"""After so many of its intervals a trap is taken to be full: judgement, no source."""


@dataclass(frozen=True, slots=True)
class ContainerStanding:
    """One container now; masses in mg, levels in thousandths of the fill line.

    *holding* starts from the last weighing; *swaps*, *deposits* and *pieces* count all that ever went in.
    """

    container: str
    container_type: str
    streams: tuple[str, ...]
    status: str  # open, closed, released, received
    place: str
    opened_seq: int
    opened_at: datetime
    last_at: datetime
    tare_mg: int
    tare_twelfths_mg2: int
    fill_ml: int | None
    mass_limit_mg: int | None
    items_limit: int | None
    plan_at_permille: int
    close_at_permille: int
    closed_at: datetime | None = None
    pickup: str | None = None
    first_waste_at: datetime | None = None
    weighed_at: datetime | None = None
    level_permille: int | None = None
    level_at: datetime | None = None
    level_seq: int = 0
    volume_since_level_ml: int = 0
    volumes_unknown: int = 0
    swaps: int = 0
    deposits: int = 0
    pieces: int = 0
    received_mg: int | None = None
    holding: Holding = field(default_factory=Holding)

    @property
    def began_at(self) -> datetime:
        """When its history begins."""
        return self.opened_at

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The container as it was opened, empty.

        Raises:
            NotThereYet: The first fact is no opening.
        """
        body = fact.body
        if not isinstance(body, kinds.ContainerOpened):
            raise NotThereYet("container", subject.ref)
        return cls(
            container=subject.ref,
            container_type=body.container_type,
            streams=body.streams,
            status="open",
            place=body.place,
            opened_seq=fact.seq,
            opened_at=fact.happened_at,
            last_at=fact.happened_at,
            tare_mg=body.tare.mass_mg,
            tare_twelfths_mg2=body.tare.twelfths_mg2,
            fill_ml=body.fill_ml,
            mass_limit_mg=body.mass_limit_mg,
            items_limit=body.items_limit,
            plan_at_permille=body.plan_at_permille,
            close_at_permille=body.close_at_permille,
        )

    def after(self, fact: Fact) -> Self:
        """The container after a further fact.

        Raises:
            AlreadyThere: Opened or received a second time.
            ContainerSealed: Something went in after it was closed.
            ContainerGone: Anything but a receipt or a remark after it left.
            WrongStream: It does not take that stream.
            BelowTare: A weighing below the empty mass.
            NotAsBooked: It is booked for, or leaves with, another pickup.
            NotClosed: It leaves open.
        """
        return replace(self._after(fact), last_at=fact.happened_at)

    def _after(self, fact: Fact) -> Self:
        body = fact.body
        match body:
            case kinds.ContainerOpened():
                raise AlreadyThere("container", self.container, self.opened_at)
            case kinds.Remark():
                return self
            case kinds.Receipt():
                return self._received(body)
        if self.status in ("released", "received"):
            raise ContainerGone(self.container, self.pickup or "")
        match body:
            case kinds.Swap():
                return self._swapped(fact, body)
            case kinds.Deposit():
                return self._deposited(fact, body)
            case kinds.UnitReplaced():
                return self._unit_put_in(fact, body)
            case kinds.Weighing():
                return self._weighed(fact, body)
            case kinds.Level():
                return replace(
                    self,
                    level_permille=body.level_permille,
                    level_at=fact.happened_at,
                    level_seq=fact.seq,
                    volume_since_level_ml=0,
                    volumes_unknown=0,
                )
            case kinds.ContainerClosed():
                if self.closed_at is not None:
                    raise ContainerSealed(self.container, self.closed_at)
                return replace(self, status="closed", closed_at=fact.happened_at)
            case kinds.ContainerMoved():
                return replace(self, place=body.place)
            case kinds.PickupBooked():
                if self.pickup is not None:
                    raise NotAsBooked(
                        f"Container {self.container} is already booked for pickup {self.pickup}.",
                        hint=f"Release pickup {self.pickup}, or correct its booking first.",
                    )
                return replace(self, pickup=body.pickup)
            case kinds.PickupReleased():
                return self._released(body)
        return self

    def _accept(self, fact: Fact, stream: str) -> None:
        if self.closed_at is not None:
            raise ContainerSealed(self.container, self.closed_at)
        if stream not in self.streams:
            raise WrongStream(self.container, stream, self.streams)

    def _put_in(
        self, fact: Fact, holding: Holding, *, pieces: int, volume_ml: int | None, swaps: int = 0, deposits: int = 0
    ) -> Self:
        return replace(
            self,
            holding=holding,
            swaps=self.swaps + swaps,
            deposits=self.deposits + deposits,
            pieces=self.pieces + pieces,
            first_waste_at=self.first_waste_at or fact.happened_at,
            volume_since_level_ml=self.volume_since_level_ml + (volume_ml or 0),
            volumes_unknown=self.volumes_unknown + (volume_ml is None),
        )

    def _swapped(self, fact: Fact, body: kinds.Swap) -> Self:
        self._accept(fact, body.stream)
        whole = body.insert is Insert.WHOLE
        if body.gross is not None and body.tare is not None:
            if whole:
                holding = self.holding.with_weighed(body.gross.mass_mg, body.gross.twelfths_mg2)
            else:
                net_mg = body.gross.mass_mg - body.tare.mass_mg
                holding = self.holding.with_weighed(net_mg, body.gross.twelfths_mg2 + body.tare.twelfths_mg2)
        else:
            holding = self.holding.with_tally(tally_of(body))
        return self._put_in(fact, holding, pieces=1, volume_ml=body.insert_ml if whole else 0, swaps=1)

    def _deposited(self, fact: Fact, body: kinds.Deposit) -> Self:
        self._accept(fact, body.stream)
        if body.mass is not None:
            holding = self.holding.with_weighed(body.mass.mass_mg, body.mass.twelfths_mg2)
        else:
            count = body.count or 0
            holding = self.holding.with_tally(
                Tally(source=f"stream:{body.stream}", grade="", count=count, dentists_permille=1000 * count)
            )
        return self._put_in(fact, holding, pieces=body.count or 1, volume_ml=body.volume_ml, deposits=1)

    def _unit_put_in(self, fact: Fact, body: kinds.UnitReplaced) -> Self:
        self._accept(fact, body.stream)
        if body.mass is not None:
            holding = self.holding.with_weighed(body.mass.mass_mg, body.mass.twelfths_mg2)
        else:
            holding = self.holding.with_tally(tally_of(body))
        return self._put_in(fact, holding, pieces=1, volume_ml=None, deposits=1)

    def _weighed(self, fact: Fact, body: kinds.Weighing) -> Self:
        if body.gross.mass_mg < self.tare_mg:
            raise BelowTare(self.container, body.gross.mass_mg, self.tare_mg)
        holding = Holding(
            base_mg=body.gross.mass_mg - self.tare_mg,
            base_twelfths_mg2=body.gross.twelfths_mg2 + self.tare_twelfths_mg2,
            base_seq=fact.seq,
        )
        return replace(self, holding=holding, weighed_at=fact.happened_at)

    def _released(self, body: kinds.PickupReleased) -> Self:
        if self.pickup != body.pickup:
            raise NotAsBooked(
                f"Container {self.container} is not booked for pickup {body.pickup}.",
                hint=f"It is booked for {self.pickup}." if self.pickup else "Book it first.",
            )
        if self.closed_at is None:
            raise NotClosed(self.container)
        return replace(self, status="released")

    def _received(self, body: kinds.Receipt) -> Self:
        if self.status not in ("released", "received"):
            raise NotAsBooked(
                f"Container {self.container} has not left the site.", hint="Record the release of its pickup first."
            )
        net = {one.container: one.net_mg for one in body.containers}
        received_mg = net.get(self.container, self.received_mg)
        return replace(self, status="received", received_mg=received_mg)


def tally_of(body: kinds.Swap | kinds.UnitReplaced) -> Tally:
    """What one trap or retaining unit adds by count, unweighed.

    Where nobody looked, days in service stand for how full it was; a trap is full at some point and lets by what comes
    then, so that it holds no more than in `FULL_AFTER` times its interval.
    """
    known = body.interval_days if body.days_in_service is None else body.days_in_service
    days = min(known, FULL_AFTER * body.interval_days)
    if isinstance(body, kinds.UnitReplaced):
        source, grade, whole, body_mg = "separator_unit", Condition.NOT_LOOKED, True, body.unit_mg
    else:
        source, grade = body.trap_kind.value, body.condition
        whole, body_mg = body.insert is Insert.WHOLE, body.insert_mg
    return Tally(
        source=source,
        grade=grade.value,
        count=1,
        dentists_permille=body.dentists_permille,
        dentist_days_permille=body.dentists_permille * days,
        inserts_mg=(body_mg or 0) if whole else 0,
        inserts_unknown=int(whole and body_mg is None),
    )
