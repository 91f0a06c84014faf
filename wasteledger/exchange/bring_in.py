"""Bringing an exported chain into the ledger at some place, which is made only where the export holds."""

from __future__ import annotations

from pathlib import Path

from wasteledger.clock import Clock, now
from wasteledger.errors import StoreNotReachable
from wasteledger.exchange.journal import import_export, read_export
from wasteledger.ledger.ledger import Ledger


def import_file(location: str, export: Path, *, clock: Clock = now) -> tuple[str, int]:
    """Import the chain in *export* into the ledger at *location*; gives the site and the number of entries.

    Raises:
        BadExport: The export does not hold; no ledger is made then.
        SecondFirstEntry: The ledger has a chain of that site.
        StoreNotReachable: The export cannot be read, or the ledger cannot be opened or made.
    """
    try:
        with export.open("rb") as lines:
            chain = read_export(lines, export.name)
    except OSError as error:
        raise StoreNotReachable(f"{export} cannot be read: {error.strerror}.", hint="Check the name.") from error
    with Ledger.open(location, create=True, clock=clock) as ledger:
        return import_export(ledger, chain)
