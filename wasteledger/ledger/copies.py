"""Whole files of a ledger: copying one that is in use, comparing two, laying one to rest before it is put aside."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from wasteledger.errors import StoreNotReachable
from wasteledger.ledger.engine import translated

# Whoever has the file open lets go of it within a transaction; longer means that a program keeps it.
_PATIENCE_SECONDS = 2.0
_ENDINGS = ("", "-wal", "-shm", "-journal")


@dataclass(frozen=True, slots=True)
class Beyond:
    """What one ledger has of a site beyond another: entries *first* to *last*.

    ``agrees`` says whether the other's chain is the beginning of this one; else they part after entry *first* − 1.
    """

    site: str
    first: int
    last: int
    agrees: bool


def copy_ledger(source: Path, target: Path) -> None:
    """Copy the ledger at *source* into the new file *target*, as it stands at one moment, while others may write.

    Raises:
        StoreNotReachable: *source* is not there, or one of the two cannot be used.
        JournalDamaged: *source* is no database.
    """
    with _opened(source) as here:
        try:
            with closing(sqlite3.connect(target)) as there:
                here.backup(there)
        except sqlite3.Error as error:
            raise StoreNotReachable(f"{target} cannot be written: {error}.", hint="Nothing was kept.") from error


def lay_to_rest(path: Path) -> None:
    """Fold the write-ahead log into the ledger at *path*, so that the one file is the whole ledger.

    Raises:
        StoreNotReachable: It is not there, or another program has it open.
        JournalDamaged: It is no database.
    """
    with _opened(path) as connection:
        # Leaving the write-ahead mode wants the file for oneself, and refuses where somebody else has it.
        connection.execute("PRAGMA journal_mode=DELETE")


def remove_ledger(path: Path) -> None:
    """Take the file at *path* away, and whatever SQLite keeps beside it."""
    for ending in _ENDINGS:
        path.with_name(path.name + ending).unlink(missing_ok=True)


def entries_beyond(ledger: Path, other: Path) -> tuple[Beyond, ...]:
    """What *ledger* has and *other* has not, by site; both are only read.

    Raises:
        StoreNotReachable: One of them is not there, or is no ledger.
        JournalDamaged: One of them is no database.
    """
    with _opened(ledger) as here, _opened(other) as there:
        ends, known = _ends(here), _ends(there)
        found = []
        for site, last in sorted(ends.items()):
            shared = _shared(here, there, site, min(last, known.get(site, 0)))
            if shared < last:
                found.append(Beyond(site, shared + 1, last, shared == known.get(site, 0)))
        return tuple(found)


def _ends(connection: sqlite3.Connection) -> dict[str, int]:
    return {
        str(site): int(last) for site, last in connection.execute("SELECT site, max(seq) FROM journal GROUP BY site")
    }


def _shared(here: sqlite3.Connection, there: sqlite3.Connection, site: str, most: int) -> int:
    """The last entry up to which both chains are the same; equal digests mean that all before is equal too."""
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        if _digest(here, site, middle) == _digest(there, site, middle):
            low = middle
        else:
            high = middle - 1
    return low


def _digest(connection: sqlite3.Connection, site: str, seq: int) -> str | None:
    found = connection.execute("SELECT digest FROM journal WHERE site = ? AND seq = ?", (site, seq)).fetchone()
    return None if found is None else str(found[0])


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    if not path.is_file():
        raise StoreNotReachable(f"There is no ledger at {path}.", hint="Check the name.")
    try:
        uri = f"{path.absolute().as_uri()}?mode=rw"
        with closing(sqlite3.connect(uri, uri=True, timeout=_PATIENCE_SECONDS, isolation_level=None)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            yield connection
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise translated(str(path), error) from error
