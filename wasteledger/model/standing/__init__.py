"""The standing of each subject, folded from its facts.

One fold serves three ends: it checks a new entry against what stood at its time, it computes what stands now, and
`verify` runs it again from the first entry. So a check can never disagree with the standing.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime
from typing import Protocol, Self

from wasteledger.errors import WasteLedgerError
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing.containers import ContainerStanding
from wasteledger.model.standing.mentions import MentionStanding
from wasteledger.model.standing.pickups import PickupStanding
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.model.standing.register import RegisterStanding
from wasteledger.model.standing.separators import SeparatorStanding
from wasteledger.model.standing.traps import TrapStanding

__all__ = [
    "ContainerStanding",
    "Contradicts",
    "MentionStanding",
    "PickupStanding",
    "RegisterStanding",
    "SeparatorStanding",
    "Standing",
    "TrapStanding",
    "fold",
    "standing_class",
]


class Standing(Protocol):
    """What every standing can do."""

    @property
    def last_at(self) -> object:
        """When the newest fact in it happened."""

    @classmethod
    def start(cls, subject: Subject, fact: Fact) -> Self:
        """The standing after its first fact, or a refusal."""

    def after(self, fact: Fact) -> Self:
        """The standing after a further fact, or a refusal."""


AnyStanding = TrapStanding | ContainerStanding | PickupStanding | SeparatorStanding | RegisterStanding | MentionStanding

_CLASSES: dict[str, type[AnyStanding]] = {
    "trap": TrapStanding,
    "container": ContainerStanding,
    "pickup": PickupStanding,
    "separator": SeparatorStanding,
    "milestone": MentionStanding,
}


def standing_class(subject: Subject) -> type[AnyStanding]:
    """Which class of standing a subject has; whatever is not named has a line of the register."""
    return _CLASSES.get(subject.what, RegisterStanding)


class Contradicts(WasteLedgerError):
    """A backdated entry or a correction would make a later entry impossible."""

    code = "contradicts-later-entry"

    def __init__(self, later_seq: int, reason: WasteLedgerError) -> None:
        super().__init__(
            f"This would contradict entry {later_seq}: {reason.args[0]}",
            hint=f"Look at entry {later_seq} first; if it is the wrong one, correct that.",
            **reason.instants,
        )
        self.later_seq, self.reason = later_seq, reason


def fold(subject: Subject, facts: Iterable[Fact], *, new_place: int | None = None) -> AnyStanding | None:
    """Fold *facts* (oldest first) into the standing of *subject*; None where there are none.

    Args:
        subject: Whose facts they are.
        facts: In the order of `Fact.order`.
        new_place: The place of the fact that is about to be written, if one is.

    Raises:
        WasteLedgerError: The first fact that cannot be, in that kind's own words.
        Contradicts: It is an older entry that could no longer be, because of the one about to be written.
    """
    state: AnyStanding | None = None
    remaining = iter(facts)
    for fact in remaining:
        try:
            state = standing_class(subject).start(subject, fact) if state is None else state.after(fact)
        except WasteLedgerError as reason:
            since = _first_start(subject, remaining) if state is None and isinstance(reason, NotThereYet) else None
            if since is not None:
                # It is in the ledger, but not yet at that time.
                reason = NotThereYet(subject.what.replace("_", " "), subject.ref, since)
            if new_place is None or fact.place == new_place:
                raise reason from None
            raise Contradicts(fact.seq, reason) from reason
    return state


def _first_start(subject: Subject, later: Iterable[Fact]) -> datetime | None:
    for fact in later:
        with suppress(WasteLedgerError):
            standing_class(subject).start(subject, fact)
            return fact.happened_at
    return None
