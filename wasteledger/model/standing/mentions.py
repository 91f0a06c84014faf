"""The standing of what only gathers mentions: how often, and the newest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Self

from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing.refusals import AlreadyThere

ONLY_ONCE = frozenset({"first_discharge"})


@dataclass(frozen=True, slots=True)
class MentionStanding:
    """A milestone: how many times it was recorded, the newest entry and its time."""

    what: str
    ref: str
    seq: int
    times: int
    last_at: datetime

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """After the first mention."""
        return cls(subject.what, subject.ref, fact.seq, 1, fact.happened_at)

    def after(self, fact: Fact) -> Self:
        """After a further one.

        Raises:
            AlreadyThere: What can happen only once, a second time.
        """
        if self.ref in ONLY_ONCE:
            raise AlreadyThere("record of", self.ref.replace("_", " "), self.last_at)
        return replace(self, seq=fact.seq, times=self.times + 1, last_at=fact.happened_at)
