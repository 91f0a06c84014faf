"""Checking a chain from its first entry: digests, order, guards, and the standing that must follow from it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, String, select, type_coerce

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger import tables
from wasteledger.ledger.chain import GENESIS, canonical, digest_of, entry_bytes
from wasteledger.ledger.engine import reading
from wasteledger.ledger.guards import missing_guards
from wasteledger.ledger.reader import JOURNAL, Reader, table_of
from wasteledger.ledger.rows import TABLES, Values, entry_of, standing_of
from wasteledger.model.entries import Correction
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts, replaced_body, subjects_of
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.standing import AnyStanding, ContainerStanding, Contradicts, fold

Progress = Callable[[int], None]
"""Told how many entries have been read so far."""

_MENTION, _GOVERNING = table_of(tables.MentionRow), table_of(tables.GoverningRow)


@dataclass(frozen=True, slots=True)
class Paper:
    """What a printed document says it rests on: an entry's number, and its digest or the beginning of it."""

    seq: int
    digest: str

    @classmethod
    def parse(cls, text: str) -> Paper:
        """Read ``SEQ:DIGEST`` (at least 8 hexadecimal digits; blanks between groups are allowed).

        Raises:
            NotUnderstood: It is not of that form.
        """
        seq, _, digest = text.partition(":")
        digest = "".join(digest.split()).lower()
        if not seq.strip().isdecimal() or not 8 <= len(digest) <= 64 or set(digest) - set("0123456789abcdef"):
            raise NotUnderstood(
                f"“{text}” is not what a paper's foot says.", hint="Write SEQ:DIGEST, such as 412:9f86d081884c7d65."
            )
        return cls(int(seq), digest)


@dataclass(frozen=True, slots=True)
class Verification:
    """What verifying found.

    Attributes:
        site: Whose chain.
        entries: How many entries were read.
        digest: The last entry's digest as recomputed.
        first_bad: The first entry that differs, or None.
        findings: Everything found, in the order of the journal.
    """

    site: str
    entries: int
    digest: str
    first_bad: int | None
    findings: tuple[Finding, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing differs."""
        return not self.findings


def verify(engine: Engine, site: str, *, paper: Paper | None = None, progress: Progress | None = None) -> Verification:
    """Read a whole chain, recompute every digest, rebuild the standing in memory, and compare.

    Raises:
        JournalDamaged: The file is so damaged that it cannot be read to its end.
    """
    with reading(engine) as connection:
        return _Check(connection, site).run(paper, progress)


class _Check:
    def __init__(self, connection: Connection, site: str) -> None:
        self.connection, self.site = connection, site
        self.findings: list[Finding] = []
        self.first_bad: int | None = None
        self.entries: list[Entry] = []
        self.last_seq, self.last_digest = 0, GENESIS

    def run(self, paper: Paper | None, progress: Progress | None) -> Verification:
        self._file()
        self._chain(progress)
        self._end()
        if self.first_bad is None:
            self._standing()
        if paper is not None:
            self._paper(paper)
        return Verification(self.site, self.last_seq, self.last_digest, self.first_bad, tuple(self.findings))

    def _find(self, code: str, place: str, says: str, do: str = "", seq: int | None = None) -> None:
        if seq is not None and self.first_bad is None:
            self.first_bad = seq
        self.findings.append(Finding(code, place, says, do, Weight.URGENT, (seq,) if seq is not None else ()))

    def _file(self) -> None:
        said = [str(row[0]) for row in self.connection.exec_driver_sql("PRAGMA integrity_check(5)")]
        for line in said:
            if line != "ok":
                self._find(
                    "file-damaged", "ledger file", f"The database reports: {line}.", "Restore a backup beside it."
                )
        for name in sorted(missing_guards(self.connection)):
            self._find(
                "guard-missing",
                f"trigger {name}",
                "A guard of the journal is missing or was changed.",
                "Ask who opened the file with another program.",
            )

    # -- the chain -------------------------------------------------------------------------------------------------

    def _rows(self) -> Iterator[Values]:
        raw = [
            type_coerce(column, String).label(column.name) if column.name.endswith("_at") else column
            for column in JOURNAL.columns
        ]
        query = select(*raw).where(JOURNAL.c.site == self.site).order_by(JOURNAL.c.seq)
        for row in self.connection.execution_options(yield_per=1000).execute(query).mappings():
            yield dict(row)

    def _chain(self, progress: Progress | None) -> None:
        for count, row in enumerate(self._rows(), start=1):
            seq = row["seq"]
            place = f"entry {seq}"
            if seq != self.last_seq + 1:
                self._find("entry-missing", place, f"Entry {self.last_seq + 1} is missing.", seq=self.last_seq + 1)
            problem = self._problem(row)
            if problem:
                self._find("entry-differs", place, problem, "The journal was changed after it was written.", seq=seq)
            self.last_seq, self.last_digest = seq, str(row["digest"])
            if progress is not None and count % 1000 == 0:
                progress(count)
        if progress is not None:
            progress(len(self.entries))

    def _problem(self, row: Values) -> str:
        if row["previous"] != self.last_digest:
            return "Its “previous” is not the digest of the entry before it."
        try:
            times = {name: _instant(row[name]) for name in ("happened_at", "recorded_at")}
            if canonical(json.loads(row["body"])).decode() != row["body"]:
                return "Its body is not in canonical form."
            if digest_of(entry_bytes(row | times)) != row["digest"]:
                return "Its digest is not that of what it says."
            entry = entry_of(row | times)
        except (ValueError, TypeError, RecursionError, WasteLedgerError) as error:
            return f"It cannot be read: {error}"
        self.entries.append(entry)
        return ""

    def _end(self) -> None:
        end = Reader(self.connection, self.site).chain_end()
        if end is None and not self.last_seq:
            self._find("no-such-site", f"site {self.site}", "There is no chain for this site.")
        elif end is None or (end.entries, end.digest) != (self.last_seq, self.last_digest):
            known = end.entries if end else 0
            self._find(
                "end-differs",
                "end of the chain",
                f"The ledger should end with entry {known}; it ends with entry {self.last_seq}.",
                "Entries at the end were removed, or written past the program.",
                seq=min(known, self.last_seq) + 1 if known != self.last_seq else known,
            )

    # -- the standing ----------------------------------------------------------------------------------------------

    def _standing(self) -> None:
        try:
            rebuilt = standing_from(self.entries)
        except ImpossibleEntry as impossible:
            self._find("entry-impossible", impossible.place, str(impossible), seq=impossible.seq)
            return
        self._compare(rebuilt, dict(self._stored()))
        self._compare_mentions()

    def _stored(self) -> Iterator[tuple[Subject, AnyStanding]]:
        tallies: dict[str, list[Values]] = {}
        tally = table_of(tables.TallyRow)
        for tallied in self.connection.execute(select(tally).where(tally.c.site == self.site)).mappings():
            tallies.setdefault(tallied["container"], []).append(dict(tallied))
        for cls, row_class in TABLES.items():
            table = table_of(row_class)
            names = [column.name for column in table.primary_key if column.name != "site"]
            for found in self.connection.execute(select(table).where(table.c.site == self.site)).mappings():
                row = dict(found)
                subject = Subject(row["what"], row["ref"]) if "what" in names else Subject(names[0], row[names[0]])
                extra = tallies.get(subject.ref, []) if cls is ContainerStanding else []
                yield subject, standing_of(cls, row, extra)

    def _compare(self, rebuilt: dict[Subject, AnyStanding], stored: dict[Subject, AnyStanding]) -> None:
        for subject in sorted(rebuilt.keys() | stored.keys()):
            wanted, there = rebuilt.get(subject), stored.get(subject)
            if wanted == there:
                continue
            self._find(
                "standing-differs",
                f"{subject.what} {subject.ref}",
                _difference(wanted, there),
                "The standing was changed past the program; it can be rebuilt: wasteledger verify --rebuild.",
            )

    def _compare_mentions(self) -> None:
        wanted_mentions, wanted_governing = derived(self.entries)
        stored = {
            (row["what"], row["ref"], row["seq"])
            for row in self.connection.execute(select(_MENTION).where(_MENTION.c.site == self.site)).mappings()
        }
        for what, ref, seq in sorted(wanted_mentions ^ stored, key=lambda one: (one[2], one[0], one[1])):
            self._find("mention-differs", f"{what} {ref}", f"The index to entry {seq} differs.", seq=None)
        governing = {
            row["corrects"]: (row["seq"], row["action"])
            for row in self.connection.execute(select(_GOVERNING).where(_GOVERNING.c.site == self.site)).mappings()
        }
        if governing != wanted_governing:
            self._find("correction-differs", "corrections", "The list of governing corrections differs.")

    def _paper(self, paper: Paper) -> None:
        entry = next((one for one in self.entries if one.seq == paper.seq), None)
        if entry is None or not entry.digest.startswith(paper.digest):
            says = "has no such entry" if entry is None else f"has {entry.digest[: len(paper.digest)]} there"
            self._find(
                "paper-differs",
                f"paper {paper.seq}:{paper.digest}",
                f"The ledger does not agree with the paper: it {says}.",
                "Compare the paper with the ledger's history up to that entry.",
            )


def _instant(raw: Any) -> datetime:
    """The instant of a raw column; text must be exactly as the database driver writes it."""
    if isinstance(raw, datetime):
        return raw.astimezone(UTC) if raw.tzinfo else raw.replace(tzinfo=UTC)
    instant = datetime.fromisoformat(raw).replace(tzinfo=UTC)
    if instant.strftime("%Y-%m-%d %H:%M:%S.%f") != raw:
        raise ValueError(f"the time “{raw}” is not as it was written")
    return instant


def _difference(wanted: AnyStanding | None, there: AnyStanding | None) -> str:
    if wanted is None:
        return "It stands in the ledger, but no entry speaks of it."
    if there is None:
        return "Entries speak of it, but it does not stand in the ledger."
    names = [one.name for one in fields(wanted) if getattr(wanted, one.name) != getattr(there, one.name, None)]
    return "What stands is not what the entries give: " + ", ".join(names) + "."


class ImpossibleEntry(WasteLedgerError):
    """An entry that the fold refuses although it stands in the journal."""

    code = "entry-impossible"

    def __init__(self, subject: Subject, seq: int, reason: WasteLedgerError) -> None:
        super().__init__(f"Entry {seq} could never have been written: {reason}")
        self.place, self.seq = f"{subject.what} {subject.ref}", seq


def standing_from(entries: list[Entry]) -> dict[Subject, AnyStanding]:
    """The standing of every subject, folded from a whole chain.

    Raises:
        ImpossibleEntry: The first entry of a subject that cannot be.
    """
    facts: dict[Subject, list[Fact]] = {}
    for fact in effective_facts(entries):
        for subject in subjects_of(fact.body):
            facts.setdefault(subject, []).append(fact)
    rebuilt: dict[Subject, AnyStanding] = {}
    for subject, about in facts.items():
        try:
            state = fold(subject, about, new_place=-1)
        except Contradicts as contradiction:
            raise ImpossibleEntry(subject, contradiction.later_seq, contradiction.reason) from contradiction
        if state is not None:
            rebuilt[subject] = state
    return rebuilt


Mentions = set[tuple[str, str, int]]


def derived(entries: list[Entry]) -> tuple[Mentions, dict[int, tuple[int, str]]]:
    """The mentions and governing corrections that follow from a chain, in the order of the journal."""
    mentions: Mentions = set()
    governing: dict[int, tuple[int, str]] = {}
    said: dict[int, set[Subject]] = {}
    for entry in entries:
        subjects = set(subjects_of(entry.body))
        if isinstance(entry.body, Correction):
            target = entries[entry.body.corrects - 1]
            subjects |= subjects_of(target.body) | said.get(target.seq, set())
            said[target.seq] = (
                set(subjects_of(replaced_body(entry.body.replacement))) if entry.body.replacement else set()
            )
            governing[target.seq] = (entry.seq, entry.body.action)
        mentions |= {(subject.what, subject.ref, entry.seq) for subject in subjects}
    return mentions, governing


__all__ = ["Paper", "Progress", "Verification", "derived", "standing_from", "verify"]
