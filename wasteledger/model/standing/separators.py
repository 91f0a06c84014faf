"""The standing of an amalgam separator: last inspection, last exchange of its retaining unit, open malfunction."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Self

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.register import Register, SeparatorDetails
from wasteledger.model.standing.refusals import NotThereYet, Retired


@dataclass(frozen=True, slots=True)
class SeparatorStanding:
    """What is known of one separator now; a malfunction stays open until a repair or a replacement."""

    separator: str
    details: SeparatorDetails
    in_service_at: datetime
    last_at: datetime
    retired_at: datetime | None = None
    inspections: int = 0
    last_inspection_seq: int = 0
    last_inspection_at: datetime | None = None
    last_result: str | None = None
    level_permille: int | None = None
    malfunction_seq: int = 0
    malfunction_at: datetime | None = None
    last_unit_seq: int = 0
    last_unit_at: datetime | None = None

    @property
    def began_at(self) -> datetime:
        """When its history begins."""
        return self.in_service_at

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The separator as it was registered.

        Raises:
            NotThereYet: The first fact is no registration.
        """
        body = fact.body
        if not isinstance(body, Register) or not isinstance(body.details, SeparatorDetails) or body.retired:
            raise NotThereYet("separator", subject.ref)
        return cls(subject.ref, body.details, fact.happened_at, fact.happened_at)

    def after(self, fact: Fact) -> Self:
        """The separator after an inspection, a repair, an exchange or a change of its registration.

        Raises:
            Retired: It was out of service by then.
        """
        body = fact.body
        if isinstance(body, Register) and isinstance(body.details, SeparatorDetails):
            if body.retired and self.retired_at is not None:
                raise Retired("separator", self.separator, self.retired_at)
            return replace(
                self,
                details=body.details,
                retired_at=fact.happened_at if body.retired else None,
                last_at=fact.happened_at,
            )
        if self.retired_at is not None:
            raise Retired("separator", self.separator, self.retired_at)
        if isinstance(body, kinds.SeparatorInspection):
            found = body.result == "malfunction" and not self.malfunction_seq
            return replace(
                self,
                inspections=self.inspections + 1,
                last_inspection_seq=fact.seq,
                last_inspection_at=fact.happened_at,
                last_result=body.result,
                level_permille=self.level_permille if body.level_permille is None else body.level_permille,
                malfunction_seq=fact.seq if found else self.malfunction_seq,
                malfunction_at=fact.happened_at if found else self.malfunction_at,
                last_at=fact.happened_at,
            )
        if isinstance(body, kinds.Repair):
            replaced = body.action == "replaced"
            return replace(
                self,
                malfunction_seq=0,
                malfunction_at=None,
                level_permille=0 if replaced else self.level_permille,
                last_unit_seq=fact.seq if replaced else self.last_unit_seq,
                last_unit_at=fact.happened_at if replaced else self.last_unit_at,
                last_at=fact.happened_at,
            )
        if isinstance(body, kinds.UnitReplaced):
            return replace(
                self,
                level_permille=0,
                last_unit_seq=fact.seq,
                last_unit_at=fact.happened_at,
                last_at=fact.happened_at,
            )
        return self
