"""From entries to effective facts: corrections applied, backdated entries in their place in time.

A *subject* is something with a history of its own: a trap, a container, a pickup, a separator, a line of the
register. Each entry mentions one or more subjects; the standing of a subject is folded from its facts alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from wasteledger.model import entries as kinds
from wasteledger.model.procedures import Procedures
from wasteledger.model.register import Register
from wasteledger.model.values import Body, read_utc


class Subject(NamedTuple):
    """Kind and name of what has a history: ``Subject("trap", "1-HV")``."""

    what: str
    ref: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it stands in the journal (see the project's DEVELOPERS.md for the hashed bytes).

    *happened_at* and *recorded_at* are UTC instants; *previous* and *digest* are 64 hexadecimal digits.
    """

    site: str
    seq: int
    happened_at: datetime
    recorded_at: datetime
    recorded_by: str
    door: str
    body: Body
    key: str
    previous: str
    digest: str

    @property
    def kind(self) -> str:
        """The name of the body's kind."""
        return self.body.KIND

    @property
    def trap(self) -> str | None:
        """The trap that the entry speaks of."""
        return getattr(self.body, "trap", None)

    @property
    def container(self) -> str | None:
        """The one container that the entry speaks of."""
        return getattr(self.body, "container", None)

    @property
    def pickup(self) -> str | None:
        """The pickup that the entry speaks of."""
        return getattr(self.body, "pickup", None)


@dataclass(frozen=True, slots=True)
class Fact:
    """What counts as having happened: an entry's body, or the replacement that a correction put in its place.

    Attributes:
        seq: The entry that says so last (the correction's, where it was replaced).
        place: The first entry's seq, which orders facts of one instant.
    """

    seq: int
    place: int
    happened_at: datetime
    recorded_at: datetime
    recorded_by: str
    body: Body

    @property
    def order(self) -> tuple[datetime, int]:
        """Facts are taken in this order."""
        return (self.happened_at, self.place)


def subjects_of(body: Body) -> frozenset[Subject]:
    """What the body of an entry speaks of (of a correction: what its replacement speaks of, not its target)."""
    found: set[Subject] = set()
    match body:
        case Register(ref=ref, details=details):
            found.add(Subject(details.subject, ref))
        case kinds.LineCleaning(rooms=rooms, cleaner=cleaner):
            found.update(Subject("room", room) for room in rooms)
            found.add(Subject("cleaner", cleaner))
        case kinds.Milestone():
            found.add(Subject("milestone", body.what))
        case kinds.PickupBooked(containers=refs):
            found.update(Subject("container", ref) for ref in refs)
        case kinds.PickupReleased(containers=released):
            found.update(Subject("container", one.container) for one in released)
        case kinds.Receipt(containers=received):
            found.update(Subject("container", one.container) for one in received)
        case kinds.Correction(replacement=replacement) if replacement is not None:
            return subjects_of(replaced_body(replacement))
        case kinds.Deposit(room=room) | Procedures(room=room) if room is not None:
            found.add(Subject("room", room))
        case _:
            pass
    for named in ("trap", "container", "pickup", "separator"):
        name = getattr(body, named, None)
        if isinstance(name, str):
            found.add(Subject(named, name))
    return frozenset(found)


def replaced_body(replacement: kinds.Replacement) -> Body:
    """The body that a correction puts in the place of the wrong one.

    Raises:
        BodyNotUnderstood: It is no body of the kind it names.
    """
    return kinds.read_body(replacement.kind, replacement.version, replacement.body)


def effective_facts(entries: Iterable[Entry]) -> tuple[Fact, ...]:
    """The facts that count, oldest first, from entries of one site in any order.

    The newest correction of an entry governs: ``void`` removes it, ``replace`` puts another body (and time) in its
    place, ``reinstate`` lets it count again as first written.
    """
    written = sorted(entries, key=lambda entry: entry.seq)
    governing = {entry.body.corrects: entry for entry in written if isinstance(entry.body, kinds.Correction)}
    facts: list[Fact] = []
    for entry in written:
        if isinstance(entry.body, kinds.Correction):
            continue
        fact = Fact(entry.seq, entry.seq, entry.happened_at, entry.recorded_at, entry.recorded_by, entry.body)
        correction = governing.get(entry.seq)
        if correction is not None and isinstance(correction.body, kinds.Correction):
            if correction.body.action == "void":
                continue
            if correction.body.replacement is not None:
                fact = Fact(
                    correction.seq,
                    entry.seq,
                    read_utc(correction.body.replacement.happened_at),
                    correction.recorded_at,
                    correction.recorded_by,
                    replaced_body(correction.body.replacement),
                )
        facts.append(fact)
    return tuple(sorted(facts, key=lambda fact: fact.order))


def facts_about(subject: Subject, entries: Sequence[Entry]) -> tuple[Fact, ...]:
    """The effective facts that speak of *subject*."""
    return tuple(fact for fact in effective_facts(entries) if subject in subjects_of(fact.body))
