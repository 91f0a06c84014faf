"""A chain as JSON Lines: one entry a line, the very object that is hashed, with its digest added.

The file is UTF-8 and has no header. Line by line, each object has the fifteen members of `MEMBERS` and no other;
``trap``, ``container`` and ``pickup`` are null where an entry names none. Spacing, and the order of members, do not
matter to a reader, since the digest is taken over the canonical form. Anybody can recompute the chain from the file:
see “The hashed bytes” in DEVELOPERS.md.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.chain import GENESIS, canonical, digest_of, entry_bytes
from wasteledger.ledger.engine import writing
from wasteledger.ledger.lay_down import lay_down
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.recompute import Recomputed, recompute
from wasteledger.ledger.rows import Values, entry_of, entry_values
from wasteledger.model.facts import Entry
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.values import read_utc

MEMBERS: dict[str, tuple[type, ...]] = {
    "site": (str,),
    "seq": (int,),
    "kind": (str,),
    "version": (int,),
    "happened_at": (str,),
    "recorded_at": (str,),
    "recorded_by": (str,),
    "door": (str,),
    "body": (dict,),
    "trap": (str, type(None)),
    "container": (str, type(None)),
    "pickup": (str, type(None)),
    "key": (str,),
    "previous": (str,),
    "digest": (str,),
}
"""What each line holds, and of which kind; JSON's ``true`` is no number."""

# A person reads the first faults; a program reads them all from the error.
_SHOWN = 20


class BadExport(NotUnderstood):
    """An export that does not hold; ``findings`` has everything that is wrong, line by line."""

    code = "bad-export"

    def __init__(self, name: str, findings: tuple[Finding, ...]) -> None:
        listed = "\n".join(f"  {one.place}: {one.says}" for one in findings[:_SHOWN])
        more = f"\n  and {len(findings) - _SHOWN} more." if len(findings) > _SHOWN else ""
        super().__init__(
            f"{name} cannot be imported; nothing was written.\n{listed}{more}", hint="Ask for a fresh export."
        )
        self.findings = findings


@dataclass(frozen=True, slots=True)
class Export:
    """An export that holds: one site's whole chain, and what follows from it."""

    entries: tuple[Entry, ...]
    recomputed: Recomputed

    @property
    def site(self) -> str:
        """Whose chain it is."""
        return self.entries[0].site


def export_lines(entries: Iterable[Entry]) -> Iterator[bytes]:
    """Each entry as one line of canonical JSON with its digest, ending in a line feed."""
    for entry in entries:
        hashed = json.loads(entry_bytes(entry_values(entry)))
        yield canonical(hashed | {"digest": entry.digest}) + b"\n"


def read_export(lines: Iterable[bytes], name: str = "export") -> Export:
    """Read an export whole: every digest is recomputed, every entry is checked against what stood before it.

    Raises:
        BadExport: Lines that cannot be read, are out of order, or say something that their digest does not; or
            entries that could never have been written. All of them are named.
    """
    reading = _Reading(name)
    for number, line in enumerate(lines, start=1):
        reading.take(number, line)
    return reading.finish()


class _Reading:
    """What is known of an export while its lines go by."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.findings: list[Finding] = []
        self.entries: list[Entry] = []
        self.lines: dict[int, int] = {}
        self.keys: dict[str, int] = {}
        self.due = 1
        # None after a line that cannot be read: what the next one should build on is not known then.
        self.previous: str | None = GENESIS

    def take(self, number: int, line: bytes) -> None:
        try:
            entry = _entry_of(line)
        except (ValueError, TypeError, RecursionError, WasteLedgerError) as error:
            self._find(number, f"It cannot be read: {error}")
            self.due, self.previous = self.due + 1, None
            return
        says = self._misfit(entry)
        if says:
            self._find(number, says, entry.seq)
        self.due, self.previous = entry.seq + 1, entry.digest
        self.keys.setdefault(entry.key, entry.seq)
        self.lines[entry.seq] = number
        self.entries.append(entry)

    def finish(self) -> Export:
        if not self.entries and not self.findings:
            self.findings.append(Finding("empty", self.name, "There is no entry in it.", weight=Weight.URGENT))
        if self.findings:
            raise BadExport(self.name, tuple(self.findings))
        recomputed = recompute(self.entries)
        for impossible in recomputed.impossible:
            self._find(self.lines[impossible.seq], str(impossible), impossible.seq)
        if self.findings:
            raise BadExport(self.name, tuple(self.findings))
        return Export(tuple(self.entries), recomputed)

    def _misfit(self, entry: Entry) -> str:
        if self.entries and entry.site != self.entries[0].site:
            return f"It is of site {entry.site}, in a chain of site {self.entries[0].site}."
        if entry.seq != self.due:
            return f"Entry {self.due} is due here; this is entry {entry.seq}."
        if self.previous is not None and entry.previous != self.previous:
            return "Its “previous” is not the digest of the entry before it."
        if entry.key in self.keys:
            return f"Its key was used before, for entry {self.keys[entry.key]}."
        return ""

    def _find(self, number: int, says: str, seq: int | None = None) -> None:
        place, seqs = f"{self.name} line {number}", () if seq is None else (seq,)
        self.findings.append(Finding("line-differs", place, says, weight=Weight.URGENT, seqs=seqs))


class _Unlike(NotUnderstood):
    """A line that is no entry as this program writes it."""

    code = "no-entry"


def _entry_of(line: bytes) -> Entry:
    said: Any = json.loads(line.decode(), object_pairs_hook=_once)
    if not isinstance(said, dict):
        raise _Unlike("it is no object.")
    row = _row_of(said)
    digest = digest_of(entry_bytes(row))
    entry = entry_of(row)
    kept = entry_values(entry)
    if kept["body"] != row["body"]:
        raise _Unlike("its body is not as an entry of its kind is written.")
    if any(kept[name] != row[name] for name in ("trap", "container", "pickup")):
        raise _Unlike("what it names is not what its body speaks of.")
    if digest != entry.digest:
        raise _Unlike("its digest is not that of what it says.")
    return entry


def _row_of(said: dict[str, Any]) -> Values:
    surplus, missing = sorted(said.keys() - MEMBERS.keys()), sorted(MEMBERS.keys() - said.keys())
    if surplus or missing:
        raise _Unlike(f"{surplus[0]} is not known." if surplus else f"{missing[0]} is missing.")
    for name, kinds in MEMBERS.items():
        if type(said[name]) not in kinds:
            raise _Unlike(f"{name} is not of the right kind.")
    times: Values = {}
    for name in ("happened_at", "recorded_at"):
        try:
            times[name] = read_utc(said[name])
        except ValueError as error:
            raise _Unlike(f"{name} is no time as the journal writes it.") from error
    return said | times | {"body": canonical(said["body"]).decode()}


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _Unlike("a name is given twice.")
    return found


def import_export(ledger: Ledger, export: Export) -> tuple[str, int]:
    """Write a chain that was read; gives the site and the number of entries. All is written, or nothing.

    Raises:
        SecondFirstEntry: The ledger has a chain of that site.
    """
    with writing(ledger.engine) as connection:
        return export.site, lay_down(connection, export.site, export.entries, export.recomputed)


def import_chain(
    ledger: Ledger,
    lines: Iterable[bytes],
    name: str = "export",
    *,
    check: Callable[[tuple[Entry, ...]], None] | None = None,
) -> tuple[str, int]:
    """Import a whole chain into a ledger that does not have its site; gives the site and the number of entries.

    The digests stay the same. All is written, or nothing.

    Args:
        ledger: Where to.
        lines: The export's lines.
        name: What messages call it.
        check: Called with the entries before anything is written; may refuse.

    Raises:
        BadExport: The export does not hold.
        SecondFirstEntry: The ledger has a chain of that site.
    """
    export = read_export(lines, name)
    if check is not None:
        check(export.entries)
    return import_export(ledger, export)
