"""What was stated of a container as it left, and what is reckoned now where entries it rested on were changed since.

A signed manifest keeps the figure of its day. An entry that was corrected, made void or typed in since then makes the
reckoning another, and nobody should meet the two figures without a word between them. What weighings taught since moves
the reckoning of an estimate too; that alone is no change of the record.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model import entries as kinds
from wasteledger.model.entries import Correction, PickupReleased, ReleasedContainer, Remark
from wasteledger.model.facts import Entry, Fact, Subject, replaced_body
from wasteledger.model.findings import Finding
from wasteledger.office.masses import mass_of
from wasteledger.office.plain import plain

_CONTENT = frozenset(
    body.KIND for body in (kinds.Swap, kinds.Deposit, kinds.UnitReplaced, kinds.Weighing, kinds.ContainerOpened)
)
_HOW = {"void": "was made void", "replace": "was corrected", "reinstate": "counts again"}


@dataclass(frozen=True, slots=True)
class Changed:
    """One entry that a stated figure rested on, or should have: by which entry it was changed since, and how.

    Attributes:
        seq: The entry.
        by_seq: The correction; the entry itself where it was written only since.
        how: ``void``, ``replace``, ``reinstate`` or ``late``.
    """

    seq: int
    by_seq: int
    how: str

    @property
    def says(self) -> str:
        """The same in words."""
        if self.how == "late":
            return f"entry {self.seq} was written only since"
        return f"entry {self.seq} {_HOW[self.how]} since (entry {self.by_seq})"


@dataclass(frozen=True, slots=True)
class Restated:
    """A container that left with another figure than is reckoned now.

    Attributes:
        container: Which.
        pickup: The pickup that it left with.
        release_seq: The entry that states what left.
        left_mg: What was stated as it left.
        left: The same in words, as the signed manifest has it.
        reckoned_mg: What is reckoned now.
        reckoned: The same in words.
        changed: The entries that were changed since, oldest first.
        explained_seq: The remark that answers it; 0 where none does.
        explained: What that says.
    """

    container: str
    pickup: str
    release_seq: int
    left_mg: int
    left: str
    reckoned_mg: int
    reckoned: str
    changed: tuple[Changed, ...]
    explained_seq: int = 0
    explained: str = ""

    def as_json(self) -> dict[str, Any]:
        """The same as JSON says it; masses in mg."""
        return dict(plain(self)) | {"says": self.says, "is_open": self.is_open}

    @property
    def by_seq(self) -> int:
        """The newest entry that changed it; an explanation speaks of that one."""
        return max(one.by_seq for one in self.changed)

    @property
    def is_open(self) -> bool:
        """Whether it asks for an explanation."""
        return not self.explained_seq

    @property
    def says(self) -> str:
        """Both figures, and why they differ."""
        why = ", ".join(one.says for one in self.changed)
        return (
            f"Container {self.container}: {why}. The signed manifest of pickup {self.pickup} shows the figure of then, "
            f"{self.left}; reckoned now: {self.reckoned}."
        )


def stated_at_release(reader: Reader, container: str, pickup: str | None) -> ReleasedContainer | None:
    """What the release of *pickup* stated of *container*; None where it has not left."""
    release = release_of(reader.facts_about(Subject("pickup", pickup))) if pickup else None
    return _line(release, container) if release is not None else None


def release_of(facts: Iterable[Fact]) -> Fact | None:
    """The release among the facts of one pickup."""
    return next((fact for fact in facts if isinstance(fact.body, PickupReleased)), None)


def released_body(entry: Entry) -> PickupReleased | None:
    """What an entry says of a release, written so or put in the place of a wrong one; None if it is no release."""
    body = entry.body
    if isinstance(body, Correction) and body.replacement is not None:
        body = replaced_body(body.replacement)
    return body if isinstance(body, PickupReleased) else None


def restated_of(reader: Reader, pickup: str, facts: Sequence[Fact] | None = None) -> tuple[Restated, ...]:
    """Each container of *pickup* whose figure is another now, as entries were changed since it left.

    *facts* are those about the pickup, where they were read already.
    """
    facts = reader.facts_about(Subject("pickup", pickup)) if facts is None else facts
    release = release_of(facts)
    if release is None or not isinstance(release.body, PickupReleased):
        return ()
    found = (_restated(reader, pickup, release, one, facts) for one in release.body.containers)
    return tuple(one for one in found if one is not None)


def restated_findings(found: Iterable[Restated]) -> tuple[Finding, ...]:
    """Those that nobody has explained yet."""
    return tuple(
        Finding(
            "restated-since-release",
            f"pickup {one.pickup}",
            one.says,
            "Tell the carrier and the facility which one is right. "
            f'Then write down what they say: wasteledger pickup explain {one.pickup} --why "…"',
            seqs=(one.release_seq, *(changed.by_seq for changed in one.changed)),
        )
        for one in found
        if one.is_open
    )


def _restated(
    reader: Reader, pickup: str, release: Fact, left: ReleasedContainer, facts: Sequence[Fact]
) -> Restated | None:
    # A correction of the release keeps the figures that were made as it was first written.
    changed = _changed_since(reader, left.container, release.place)
    standing = reader.find_container(left.container) if changed else None
    if standing is None:
        return None
    now = mass_of(reader, standing)
    stated = (left.net_mg, left.lower_mg, left.upper_mg, left.basis == "weighed")
    if stated == (now.value_mg, now.lower_mg, now.upper_mg, now.basis == "weighed"):
        return None
    newest = max(one.by_seq for one in changed)
    answer = next((fact for fact in facts if isinstance(fact.body, Remark) and fact.body.about == newest), None)
    return Restated(
        container=left.container,
        pickup=pickup,
        release_seq=release.seq,
        left_mg=left.net_mg,
        left=left.statement,
        reckoned_mg=now.value_mg,
        reckoned=statement(now),
        changed=changed,
        explained_seq=answer.seq if answer is not None else 0,
        explained=" ".join(answer.body.text.split()) if answer and isinstance(answer.body, Remark) else "",
    )


def _changed_since(reader: Reader, container: str, place: int) -> tuple[Changed, ...]:
    """What was changed of a container's content by entries behind entry *place*."""
    wanted = Filter(
        kinds=(Correction.KIND, *sorted(_CONTENT)),
        subjects=(Subject("container", container),),
        by_recorded=True,
        newest_first=True,
    )
    since = list(takewhile(lambda entry: entry.seq > place, reader.entries(wanted)))
    if not since:
        return ()
    corrections = [
        one
        for one in reader.entries(Filter(kinds=wanted.kinds, subjects=wanted.subjects, by_recorded=True))
        if isinstance(one.body, Correction)
    ]
    found: dict[int, Changed] = {}
    for entry in reversed(since):
        if not isinstance(entry.body, Correction):
            found[entry.seq] = Changed(entry.seq, entry.seq, "late")
        elif _touches_content(reader, entry.body):
            seq = entry.body.corrects
            found[seq] = Changed(seq, entry.seq, entry.body.action)
    for seq, one in list(found.items()):
        before = [other for other in corrections if _corrects(other) == seq and other.seq < place]
        stood_before = _stood_as(before[-1] if before else None)
        if seq > place and one.how == "reinstate":
            found[seq] = Changed(seq, one.by_seq, "late")
        elif (one.how == "reinstate" and stood_before) or (seq > place and one.how == "void"):
            # Made void and reinstated since it left, or written and made void since: it is as it was.
            del found[seq]
    return tuple(found[seq] for seq in sorted(found))


def _stood_as(correction: Entry | None) -> bool:
    """Whether an entry stood as it was written, by the last correction of it."""
    return correction is None or (isinstance(correction.body, Correction) and correction.body.action == "reinstate")


def _corrects(entry: Entry) -> int:
    return entry.body.corrects if isinstance(entry.body, Correction) else 0


def _touches_content(reader: Reader, body: Correction) -> bool:
    put_in = {body.replacement.kind} if body.replacement is not None else set()
    return bool(_CONTENT & {reader.get_entry(body.corrects).kind, *put_in})


def _line(release: Fact, container: str) -> ReleasedContainer | None:
    lines = release.body.containers if isinstance(release.body, PickupReleased) else ()
    return next((one for one in lines if one.container == container), None)
