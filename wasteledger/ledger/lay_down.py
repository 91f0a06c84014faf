"""Laying down a chain that was written elsewhere, entry by entry as it was, into a ledger without that site."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, insert

from wasteledger.ledger import tables
from wasteledger.ledger.append import SecondFirstEntry
from wasteledger.ledger.reader import JOURNAL, Reader, table_of
from wasteledger.ledger.rebuild import write_computed
from wasteledger.ledger.recompute import Recomputed, recompute
from wasteledger.ledger.rows import entry_values
from wasteledger.model.facts import Entry

# Rows sent to the database at once.
_BATCH = 1000


def lay_down(connection: Connection, site: str, entries: Sequence[Entry], recomputed: Recomputed | None = None) -> int:
    """Write a whole chain with its own times, persons and digests, and compute its standing; returns its length.

    To be called in a writing transaction, with entries whose digests were checked; *recomputed* is what follows from
    them, where the caller knows it already.

    Raises:
        SecondFirstEntry: The ledger has a chain for that site.
        ImpossibleEntry: The first entry that could never have been written.
    """
    if Reader(connection, site).chain_end() is not None:
        raise SecondFirstEntry(
            f"This ledger has a chain of site “{site}” already.", hint="Import into a new ledger, named with --ledger."
        )
    recomputed = recomputed or recompute(entries)
    if recomputed.impossible:
        raise recomputed.impossible[0]
    for start in range(0, len(entries), _BATCH):
        connection.execute(insert(JOURNAL), [entry_values(entry) for entry in entries[start : start + _BATCH]])
    last = entries[-1]
    connection.execute(insert(table_of(tables.ChainEndRow)), {"site": site, "entries": last.seq, "digest": last.digest})
    write_computed(connection, site, recomputed)
    return last.seq
