"""The standing of a line of the register: its newest details, since when, and whether it is retired."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Self

from wasteledger.model.facts import Fact, Subject
from wasteledger.model.register import Details, Register
from wasteledger.model.standing.refusals import NotThereYet, Retired


@dataclass(frozen=True, slots=True)
class RegisterStanding:
    """A room, person, party, type, cleaner, ordinance … as the register has it now."""

    what: str
    ref: str
    seq: int
    since_at: datetime
    last_at: datetime
    retired_at: datetime | None
    details: Details

    @property
    def began_at(self) -> datetime:
        """When its history begins."""
        return self.since_at

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The line after its first entry.

        Raises:
            NotThereYet: The first fact is no registration.
        """
        if not isinstance(fact.body, Register):
            raise NotThereYet(subject.what.replace("_", " "), subject.ref)
        if fact.body.retired:
            raise NotThereYet(subject.what.replace("_", " "), subject.ref)
        return cls(
            subject.what, subject.ref, fact.seq, fact.happened_at, fact.happened_at, None, details=fact.body.details
        )

    def after(self, fact: Fact) -> Self:
        """The line after a further fact that speaks of it.

        Raises:
            Retired: It was out of service by then.
        """
        if isinstance(fact.body, Register):
            if fact.body.retired and self.retired_at is not None:
                raise Retired(self.what.replace("_", " "), self.ref, self.retired_at)
            return replace(
                self,
                seq=fact.seq,
                last_at=fact.happened_at,
                retired_at=fact.happened_at if fact.body.retired else None,
                details=fact.body.details,
            )
        if self.retired_at is not None:
            raise Retired(self.what.replace("_", " "), self.ref, self.retired_at)
        return replace(self, last_at=fact.happened_at)
