"""Computing the standing anew from the journal, and laying it down in place of the one that is there."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert

from wasteledger.ledger import tables
from wasteledger.ledger.reader import Reader, table_of
from wasteledger.ledger.recompute import Recomputed, recompute
from wasteledger.ledger.rows import TABLES, standing_values
from wasteledger.model.standing import standing_class


def rebuild(connection: Connection, site: str) -> int:
    """Replace everything that is computed for *site* by what its journal gives; returns the number of entries read.

    To be called in a writing transaction, on a journal whose chain holds.

    Raises:
        ImpossibleEntry: The first entry that cannot be.
    """
    entries = list(Reader(connection, site).entries())
    recomputed = recompute(entries)
    if recomputed.impossible:
        raise recomputed.impossible[0]
    write_computed(connection, site, recomputed)
    return len(entries)


def write_computed(connection: Connection, site: str, recomputed: Recomputed) -> None:
    """Lay down what follows from *site*'s chain in place of what is there; to be called in a writing transaction."""
    for row_class in tables.DERIVED_TABLES:
        table = table_of(row_class)
        connection.execute(delete(table).where(table.c.site == site))
    rows = [{"site": site, "what": what, "ref": ref, "seq": seq} for what, ref, seq in sorted(recomputed.mentions)]
    if rows:
        connection.execute(insert(table_of(tables.MentionRow)), rows)
    for corrects, (seq, action) in recomputed.governing.items():
        connection.execute(
            insert(table_of(tables.GoverningRow)), {"site": site, "corrects": corrects, "seq": seq, "action": action}
        )
    for subject, state in recomputed.standing.items():
        values, tallies = standing_values(site, state)
        connection.execute(insert(table_of(TABLES[standing_class(subject)])), values)
        if tallies:
            connection.execute(insert(table_of(tables.TallyRow)), tallies)
