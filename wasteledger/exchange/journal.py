"""A chain as JSON Lines: one entry a line, the very object that is hashed, with its digest added.

The file has no header. Anybody can recompute the chain from it: see “The hashed bytes” in DEVELOPERS.md.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.chain import GENESIS, canonical, digest_of, entry_bytes
from wasteledger.ledger.engine import writing
from wasteledger.ledger.lay_down import lay_down
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.rows import entry_of, entry_values
from wasteledger.model.facts import Entry
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.values import read_utc

_MOST_FINDINGS = 50
_MEMBERS = frozenset(
    {
        "site",
        "seq",
        "kind",
        "version",
        "happened_at",
        "recorded_at",
        "recorded_by",
        "door",
        "body",
        "trap",
        "container",
        "pickup",
        "key",
        "previous",
        "digest",
    }
)


class BadExport(NotUnderstood):
    """An export that does not hold; ``findings`` has what is wrong, line by line."""

    code = "bad-export"

    def __init__(self, name: str, findings: tuple[Finding, ...]) -> None:
        listed = "\n".join(f"  {one.place}: {one.says}" for one in findings)
        super().__init__(f"{name} cannot be imported; nothing was written.\n{listed}", hint="Ask for a fresh export.")
        self.findings = findings


def export_lines(entries: Iterable[Entry]) -> Iterator[bytes]:
    """Each entry as one line of canonical JSON with its digest, ending in a line feed."""
    for entry in entries:
        hashed = json.loads(entry_bytes(entry_values(entry)))
        yield canonical(hashed | {"digest": entry.digest}) + b"\n"


def read_export(lines: Iterable[bytes], name: str = "export") -> tuple[Entry, ...]:
    """The entries of an export, every digest recomputed.

    Raises:
        BadExport: Lines that cannot be read, are out of order, or whose digest does not hold; up to fifty are named.
    """
    entries: list[Entry] = []
    findings: list[Finding] = []
    previous, site = GENESIS, None
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        says, entry = _read_line(line, previous, len(entries) + 1, site)
        if entry is not None:
            previous, site = entry.digest, entry.site
            entries.append(entry)
        if says:
            findings.append(Finding("line-differs", f"{name} line {number}", says, weight=Weight.URGENT))
            if entry is None or len(findings) >= _MOST_FINDINGS:
                break
    if not entries and not findings:
        findings.append(Finding("empty", name, "There is no entry in it.", weight=Weight.URGENT))
    if findings:
        raise BadExport(name, tuple(findings))
    return tuple(entries)


def _read_line(line: bytes, previous: str, seq: int, site: str | None) -> tuple[str, Entry | None]:
    try:
        said: Any = json.loads(line)
        if not isinstance(said, dict) or set(said) != _MEMBERS:
            return "It is not an entry with exactly the members that an export has.", None
        row = said | {
            "happened_at": read_utc(said["happened_at"]),
            "recorded_at": read_utc(said["recorded_at"]),
            "body": canonical(said["body"]).decode(),
        }
        entry = entry_of(row)
        digest = digest_of(entry_bytes(row))
    except (ValueError, TypeError, RecursionError, WasteLedgerError) as error:
        return f"It cannot be read: {error}", None
    if entry_values(entry)["body"] != row["body"]:
        return "Its body is not as an entry of its kind is written.", entry
    if (said["trap"], said["container"], said["pickup"]) != (entry.trap, entry.container, entry.pickup):
        return "What it names is not what its body speaks of.", entry
    if said["seq"] != seq or (site is not None and said["site"] != site):
        return f"It is entry {said['seq']} of {said['site']} where entry {seq} is wanted.", entry
    if said["previous"] != previous:
        return "Its “previous” is not the digest of the entry before it.", entry
    if digest != said["digest"]:
        return "Its digest is not that of what it says.", entry
    return "", entry


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
    entries = read_export(lines, name)
    if check is not None:
        check(entries)
    with writing(ledger.engine) as connection:
        return entries[0].site, lay_down(connection, entries[0].site, entries)
