"""Bringing an exported chain into the ledger at some place, which is made only where the export holds."""

from __future__ import annotations

from pathlib import Path

from wasteledger.clock import Clock, now
from wasteledger.exchange.journal import import_chain, read_export
from wasteledger.ledger.ledger import Ledger


def import_file(location: str, export: Path, *, clock: Clock = now) -> tuple[str, int]:
    """Import the chain in *export* into the ledger at *location*; gives the site and the number of entries.

    Raises:
        BadExport: The export does not hold.
        SecondFirstEntry: The ledger has a chain of that site.
        StoreNotReachable: The ledger cannot be opened or made.
        OSError: The export cannot be read.
    """
    with export.open("rb") as lines:
        # Read once before the ledger is opened, so that a bad export leaves no new, empty ledger behind.
        read_export(lines, export.name)
    with Ledger.open(location, create=True, clock=clock) as ledger, export.open("rb") as lines:
        return import_chain(ledger, lines, export.name)
