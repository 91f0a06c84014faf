"""Checking a chain from its first entry: digests, order, guards, and the standing that must follow from it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, Engine, String, Table, select, type_coerce

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger import tables
from wasteledger.ledger.chain import GENESIS, canonical, digest_of, entry_bytes
from wasteledger.ledger.engine import lenient_text, reading
from wasteledger.ledger.guards import missing_guards
from wasteledger.ledger.reader import JOURNAL, Reader, table_of
from wasteledger.ledger.recompute import Recomputed, recompute
from wasteledger.ledger.rows import TABLES, Values, entry_of, standing_of
from wasteledger.model.facts import Entry, Subject
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.standing import AnyStanding, ContainerStanding
from wasteledger.model.values import utc_text

Progress = Callable[[int], None]
"""Told how many entries have been read so far."""

_CHANGED = "The journal was changed after it was written."
_REBUILD = "What is computed was changed past the program; it can be rebuilt: wasteledger verify --rebuild."
_CHAIN_END = table_of(tables.ChainEndRow)
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
    with reading(engine) as connection, lenient_text(connection):
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
        # What was read leniently may hold signs that no screen can show.
        place, says = (text.encode("utf-8", "backslashreplace").decode() for text in (place, says))
        self.findings.append(Finding(code, place, says, do, Weight.URGENT, (seq,) if seq is not None else ()))

    def _file(self) -> None:
        said = [str(row[0]) for row in self.connection.exec_driver_sql("PRAGMA integrity_check(5)")]
        for line in said:
            if line != "ok":
                self._find(
                    "file-damaged", "ledger file", f"The database reports: {line}.", "Restore a backup beside it."
                )
        ends = {row[0] for row in self.connection.execute(select(_CHAIN_END.c.site))}
        there = {row[0] for row in self.connection.execute(select(JOURNAL.c.site).distinct())}
        # No entry of this site is to blame for another's; its own end is compared by itself.
        for site in sorted(there ^ ends, key=str):
            self._find(
                "site-differs",
                f"site {site}",
                "The journal and the list of chains do not hold the same sites.",
                "Entries were removed, or written past the program. Keep the file as it is.",
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
        count = 0
        for count, row in enumerate(self._rows(), start=1):
            self._link(row)
            if progress is not None and count % 1000 == 0:
                progress(count)
        if progress is not None:
            progress(count)

    def _link(self, row: Values) -> None:
        seq, due = row["seq"], self.last_seq + 1
        if type(seq) is not int or seq < 1:
            self._find("entry-differs", f"entry {due}", f"An entry has the number {seq!r}.", _CHANGED, seq=due)
            return
        if seq != due:
            self._find("entry-missing", f"entry {due}", f"Entry {due} is missing.", _CHANGED, seq=due)
        problem = self._problem(row)
        if problem:
            self._find("entry-differs", f"entry {seq}", problem, _CHANGED, seq=seq)
        self.last_seq, self.last_digest = seq, str(row["digest"])

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
            return f"It cannot be read: {str(error).rstrip('.')}."
        self.entries.append(entry)
        return ""

    def _end(self) -> None:
        end = Reader(self.connection, self.site).chain_end()
        if end is None and not self.last_seq:
            self._find("no-such-site", f"site {self.site}", "There is no chain for this site.")
        elif end is None or (end.entries, end.digest) != (self.last_seq, self.last_digest):
            known = end.entries if end and type(end.entries) is int else 0
            self._find(
                "end-differs",
                "end of the chain",
                f"The ledger should end with entry {known}; it ends with entry {self.last_seq}.",
                "Entries at the end were removed, or written past the program.",
                seq=min(known, self.last_seq) + 1 if known != self.last_seq else known,
            )

    # -- the standing ----------------------------------------------------------------------------------------------

    def _standing(self) -> None:
        recomputed = recompute(self.entries)
        for impossible in recomputed.impossible:
            self._find("entry-impossible", impossible.place, str(impossible), impossible.hint, seq=impossible.seq)
        if not recomputed.impossible:
            self._compare(recomputed.standing, dict(self._stored()))
            self._compare_mentions(recomputed)

    def _stored(self) -> Iterator[tuple[Subject, AnyStanding | _Unreadable]]:
        tallies: dict[str, list[Values]] = {}
        for tallied in self._raw(table_of(tables.TallyRow)):
            tallies.setdefault(str(tallied["container"]), []).append(tallied)
        for cls, row_class in TABLES.items():
            table = table_of(row_class)
            names = [column.name for column in table.primary_key if column.name != "site"]
            for row in self._raw(table):
                subject = Subject(row["what"], row["ref"]) if "what" in names else Subject(names[0], row[names[0]])
                extra = tallies.pop(str(subject.ref), []) if cls is ContainerStanding else []
                try:
                    times = {name: _read_time(name, row[name]) for name in _times_of(table)}
                    yield subject, standing_of(cls, row | times, extra)
                except (ValueError, TypeError, AttributeError):
                    yield subject, _Unreadable()
        for container in tallies:
            # What went into a container that does not stand itself.
            yield Subject("container", container), _Unreadable()

    def _raw(self, table: Table) -> list[Values]:
        """The site's rows of *table*, times as the database keeps them: what cannot be read must not stop the rest."""
        times = _times_of(table)
        columns = [type_coerce(one, String).label(one.name) if one.name in times else one for one in table.columns]
        return [
            dict(row) for row in self.connection.execute(select(*columns).where(table.c.site == self.site)).mappings()
        ]

    def _compare(self, rebuilt: dict[Subject, AnyStanding], stored: dict[Subject, AnyStanding | _Unreadable]) -> None:
        for subject in sorted(rebuilt.keys() | stored.keys(), key=lambda one: (str(one.what), str(one.ref))):
            wanted, there = rebuilt.get(subject), stored.get(subject)
            if wanted != there:
                self._find("standing-differs", f"{subject.what} {subject.ref}", _difference(wanted, there), _REBUILD)

    def _compare_mentions(self, recomputed: Recomputed) -> None:
        stored = {(row["what"], row["ref"], row["seq"]) for row in self._raw(_MENTION)}
        latest = max((seq for _, _, seq in stored if isinstance(seq, int)), default=0)
        if latest > self.last_seq:
            # A removed end leaves its traces here, so this is no standing that may quietly be written anew.
            self._find(
                "entries-removed",
                "end of the chain",
                f"The ledger speaks of entry {latest}, but the journal ends with entry {self.last_seq}.",
                "Entries at the end were removed. Keep the file as it is, and compare it with a backup.",
                seq=self.last_seq + 1,
            )
        for what, ref, seq in sorted(recomputed.mentions ^ stored, key=lambda one: (str(one[2]).zfill(20), str(one))):
            self._find("mention-differs", f"{what} {ref}", f"The index to entry {seq} differs.", _REBUILD)
        governing = {row["corrects"]: (row["seq"], row["action"]) for row in self._raw(_GOVERNING)}
        if governing != recomputed.governing:
            self._find("correction-differs", "corrections", "The list of governing corrections differs.", _REBUILD)

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
    # As utc_text writes it, with a space and no zone: strftime would write the year 206 without its nought.
    if utc_text(instant).removesuffix("Z").replace("T", " ") != raw:
        raise ValueError(f"the time “{raw}” is not as it was written")
    return instant


class _Unreadable:
    """Stands for a row that cannot be read."""


def _times_of(table: Table) -> list[str]:
    # By name: the type of an instant does not say that it is one.
    return [column.name for column in table.columns if column.name.endswith(("_at", "_on"))]


def _read_time(name: str, raw: Any) -> datetime | date | None:
    if raw is None:
        return None
    if name.endswith("_at"):
        return _instant(raw)
    return raw if isinstance(raw, date) else date.fromisoformat(raw)


def _difference(wanted: AnyStanding | None, there: AnyStanding | _Unreadable | None) -> str:
    if isinstance(there, _Unreadable):
        return "What stands cannot be read."
    if wanted is None:
        return "It stands in the ledger, but no entry speaks of it."
    if there is None:
        return "Entries speak of it, but it does not stand in the ledger."
    names = [one.name for one in fields(wanted) if getattr(wanted, one.name) != getattr(there, one.name, None)]
    return "What stands is not what the entries give: " + ", ".join(names) + "."


__all__ = ["Paper", "Progress", "Verification", "verify"]
