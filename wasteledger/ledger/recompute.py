"""Computing what follows from a whole chain: the standing, the mentions, the governing corrections, and what cannot be.

Adding an entry checks it against what stands; here the same is asked of a chain as it lies there, from its first
entry on, so that a chain that was never written by the program gives itself away.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wasteledger.errors import WasteLedgerError
from wasteledger.model.entries import Correction
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts, replaced_body, subjects_of
from wasteledger.model.register import Register, SiteDetails
from wasteledger.model.standing import AnyStanding, Contradicts, fold
from wasteledger.model.values import read_utc

Mentions = set[tuple[str, str, int]]
"""What is spoken of, its ref, and the entry that does."""

Governing = dict[int, tuple[int, str]]
"""For each corrected entry: its newest correction, and what that does."""


class ImpossibleEntry(WasteLedgerError):
    """An entry that would have been refused, although it stands in the journal."""

    code = "entry-impossible"

    def __init__(self, place: str, seq: int, reason: str) -> None:
        super().__init__(
            f"Entry {seq} could never have been written: {reason}", hint="The journal was not written by this program."
        )
        self.place, self.seq = place, seq


@dataclass(frozen=True, slots=True)
class Recomputed:
    """What follows from a chain; *impossible* is sorted by entry, and what stands counts only where it is empty."""

    standing: dict[Subject, AnyStanding]
    mentions: Mentions
    governing: Governing
    impossible: tuple[ImpossibleEntry, ...]


def recompute(entries: Sequence[Entry]) -> Recomputed:
    """Compute everything that follows from *entries*: one site's whole chain, numbered from 1 without gaps.

    What cannot be is collected: an entry out of place, and of each subject the first fact that could not be.
    """
    out_of_place = list(_out_of_place(entries))
    if out_of_place:
        # Nothing can be folded from corrections that hang in the air.
        return Recomputed({}, set(), {}, tuple(out_of_place))
    facts: dict[Subject, list[Fact]] = {}
    for fact in effective_facts(entries):
        for subject in subjects_of(fact.body):
            facts.setdefault(subject, []).append(fact)
    standing: dict[Subject, AnyStanding] = {}
    impossible: list[ImpossibleEntry] = []
    for subject, about in facts.items():
        try:
            state = fold(subject, about, new_place=-1)
        except Contradicts as contradiction:
            place = f"{subject.what} {subject.ref}"
            impossible.append(ImpossibleEntry(place, contradiction.later_seq, str(contradiction.reason)))
        else:
            if state is not None:
                standing[subject] = state
    mentions, governing = _derived(entries)
    return Recomputed(standing, mentions, governing, tuple(sorted(impossible, key=lambda one: one.seq)))


def _out_of_place(entries: Sequence[Entry]) -> Iterator[ImpossibleEntry]:
    for number, entry in enumerate(entries, start=1):
        reason = _misplaced(entries, number, entry)
        if reason:
            yield ImpossibleEntry(f"entry {entry.seq}", entry.seq, reason)


def _misplaced(entries: Sequence[Entry], number: int, entry: Entry) -> str:
    if entry.seq != number:
        return f"it stands in place {number} of the chain."
    is_site = isinstance(entry.body, Register) and isinstance(entry.body.details, SiteDetails)
    if number == 1 and not is_site:
        return "a chain begins with its site."
    if is_site and isinstance(entry.body, Register) and entry.body.ref != entry.site:
        return f"the chain of site “{entry.site}” cannot begin another site, “{entry.body.ref}”."
    if entry.happened_at > entry.recorded_at:
        return "it was recorded before it happened."
    if isinstance(entry.body, Correction):
        return _wrong_correction(entries, entry, entry.body)
    return ""


def _wrong_correction(entries: Sequence[Entry], entry: Entry, body: Correction) -> str:
    if body.corrects >= entry.seq:
        return f"it corrects entry {body.corrects}, which is not before it."
    if isinstance(entries[body.corrects - 1].body, Correction):
        return f"it corrects entry {body.corrects}, which is itself a correction."
    if body.replacement is None:
        return ""
    if read_utc(body.replacement.happened_at) > entry.recorded_at:
        return "its replacement was recorded before it happened."
    try:
        replacement = replaced_body(body.replacement)
    except WasteLedgerError as error:
        return f"its replacement cannot be read: {error}"
    return "a correction cannot stand in the place of an entry." if isinstance(replacement, Correction) else ""


def _derived(entries: Sequence[Entry]) -> tuple[Mentions, Governing]:
    mentions: Mentions = set()
    governing: Governing = {}
    said: dict[int, set[Subject]] = {}
    for entry in entries:
        subjects = set(subjects_of(entry.body))
        if isinstance(entry.body, Correction):
            target = entries[entry.body.corrects - 1]
            subjects |= subjects_of(target.body) | said.get(target.seq, set())
            put_in = entry.body.replacement
            said[target.seq] = set(subjects_of(replaced_body(put_in))) if put_in else set()
            governing[target.seq] = (entry.seq, entry.body.action)
        mentions |= {(subject.what, subject.ref, entry.seq) for subject in subjects}
    return mentions, governing
