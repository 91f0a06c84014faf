"""The standing of a trap: in service or not, when it was last looked at and swapped, whether it was left to dry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Self

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.register import Register, TrapDetails
from wasteledger.model.standing.refusals import NotThereYet, Retired
from wasteledger.model.traps import Condition, TrapKind


@dataclass(frozen=True, slots=True)
class TrapStanding:
    """What is known of one trap now; ``last_swap_seq`` 0 means that it was never swapped since it was registered."""

    trap: str
    walk: int
    details: TrapDetails
    in_service_at: datetime
    last_at: datetime
    retired_at: datetime | None = None
    looks: int = 0
    swaps: int = 0
    last_look_seq: int = 0
    last_look_at: datetime | None = None
    last_condition: Condition | None = None
    last_swap_seq: int = 0
    last_swap_at: datetime | None = None
    drying_seq: int = 0

    @property
    def trap_kind(self) -> TrapKind:
        """Where in the line it sits."""
        return self.details.trap_kind

    @property
    def room(self) -> str:
        """The room it is in."""
        return self.details.room

    @property
    def began_at(self) -> datetime:
        """When its history begins."""
        return self.in_service_at

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The trap as it was registered.

        Raises:
            NotThereYet: The first fact is no registration.
        """
        body = fact.body
        if not isinstance(body, Register) or not isinstance(body.details, TrapDetails) or body.retired:
            raise NotThereYet("trap", subject.ref)
        return cls(
            trap=subject.ref,
            walk=body.details.walk,
            details=body.details,
            in_service_at=fact.happened_at,
            last_at=fact.happened_at,
        )

    def after(self, fact: Fact) -> Self:
        """The trap after a look, a swap, a remark or a change of its registration.

        Raises:
            Retired: It was out of service by then.
            NotThereYet: The swap names a trap of another kind.
        """
        body = fact.body
        if isinstance(body, Register) and isinstance(body.details, TrapDetails):
            if body.retired and self.retired_at is not None:
                raise Retired("trap", self.trap, self.retired_at)
            return replace(
                self,
                walk=body.details.walk,
                details=body.details,
                retired_at=fact.happened_at if body.retired else None,
                last_at=fact.happened_at,
            )
        if isinstance(body, kinds.Remark):
            return replace(self, last_at=fact.happened_at)
        if self.retired_at is not None:
            raise Retired("trap", self.trap, self.retired_at)
        if isinstance(body, kinds.Look):
            looked = body.condition is not Condition.NOT_LOOKED
            return replace(
                self,
                looks=self.looks + looked,
                last_look_seq=fact.seq if looked else self.last_look_seq,
                last_look_at=fact.happened_at if looked else self.last_look_at,
                last_condition=body.condition if looked else self.last_condition,
                drying_seq=fact.seq if body.left_to_dry else self.drying_seq,
                last_at=fact.happened_at,
            )
        if isinstance(body, kinds.Swap):
            if body.trap_kind is not self.trap_kind:
                raise NotThereYet(body.trap_kind.words, self.trap)
            return replace(
                self,
                swaps=self.swaps + 1,
                last_swap_seq=fact.seq,
                last_swap_at=fact.happened_at,
                drying_seq=0,
                last_at=fact.happened_at,
            )
        return self
