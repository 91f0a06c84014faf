"""Backups of a ledger's file while it is in use, checked at once; and their return."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from wasteledger.errors import JournalDamaged, StoreNotReachable, WasteLedgerError
from wasteledger.ledger.engine import reading
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.reader import Reader
from wasteledger.ledger.verify import verify


class WouldOverwrite(WasteLedgerError):
    """There is something there already."""

    code = "would-overwrite"


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy that was made and verified: where, and how many entries each site has in it."""

    path: Path
    entries: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Lost:
    """What a restore would lose: entries of a site that the backup does not have, or has otherwise.

    *first* and *last* are entry numbers; ``agrees`` says whether the backup's chain is the beginning of the target's.
    """

    site: str
    first: int
    last: int
    agrees: bool


def back_up(source: Path, target: Path) -> Copied:
    """Copy the ledger at *source* to the new file *target*, and verify the copy.

    Raises:
        WouldOverwrite: *target* is there.
        StoreNotReachable: *source* is not there, or *target* cannot be written.
        JournalDamaged: The copy does not verify; it is taken away again.
    """
    if target.exists():
        raise WouldOverwrite(f"{target} is there already.", hint="Give the backup a name of its own.")
    return _copied(source, target)


def restore(backup: Path, target: Path, *, overwrite: bool = False) -> Copied:
    """Put *backup* in the place of *target*; what it would lose is said before anything is touched.

    The file that was there is kept beside it, with ``.before-restore`` added to its name.

    Raises:
        WouldOverwrite: *target* is there and *overwrite* is not said; names what would be lost.
        StoreNotReachable: *backup* is not there.
        JournalDamaged: The backup does not verify.
    """
    if target.exists() and not overwrite:
        lost = would_lose(backup, target)
        listed = "; ".join(
            f"site {one.site}: entries {one.first} to {one.last}{'' if one.agrees else ' (another chain)'}"
            for one in lost
        )
        raise WouldOverwrite(
            f"{target} is there already. Restoring would lose {listed or 'no entry'}.",
            hint="Say --overwrite if that is what you want, or restore to another file.",
        )
    fresh = target.with_name(f"{target.name}.restoring")
    fresh.unlink(missing_ok=True)
    copied = _copied(backup, fresh)
    if target.exists():
        # The write-ahead log belongs to the old file: it is folded in before the file is put aside.
        with closing(_opened(target)) as old:
            old.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for ending in ("-wal", "-shm"):
            target.with_name(target.name + ending).unlink(missing_ok=True)
        target.replace(target.with_name(f"{target.name}.before-restore"))
    fresh.replace(target)
    return Copied(target, copied.entries)


def would_lose(backup: Path, target: Path) -> tuple[Lost, ...]:
    """What *target* has and *backup* has not, by site.

    Raises:
        StoreNotReachable: One of them is not there.
    """
    kept = dict(_ends(backup))
    lost: list[Lost] = []
    with Ledger.open(str(target)) as ledger:
        for site in ledger.sites():
            with reading(ledger.engine) as connection:
                reader = Reader(connection, site)
                end = reader.chain_end()
                known = kept.get(site)
                common = reader.find_entry(known[0]) if known and end and known[0] <= end.entries else None
            agrees = known is None or (common is not None and common.digest == known[1])
            if end is not None and (not agrees or known is None or known[0] < end.entries):
                lost.append(Lost(site, known[0] + 1 if known and agrees else 1, end.entries, agrees))
    return tuple(lost)


def _ends(path: Path) -> list[tuple[str, tuple[int, str]]]:
    found: list[tuple[str, tuple[int, str]]] = []
    with Ledger.open(str(path)) as ledger:
        for site in ledger.sites():
            with ledger.reading(site) as reader:
                end = reader.chain_end()
                if end is not None:
                    found.append((site, (end.entries, end.digest)))
    return found


def _copied(source: Path, target: Path) -> Copied:
    with closing(_opened(source)) as here:
        try:
            with closing(sqlite3.connect(target)) as there:
                here.backup(there)
        except sqlite3.Error as error:
            target.unlink(missing_ok=True)
            raise StoreNotReachable(f"{target} cannot be written: {error}.", hint="Nothing was kept.") from error
    try:
        return Copied(target, _verified(target))
    except WasteLedgerError:
        for ending in ("", "-wal", "-shm"):
            target.with_name(target.name + ending).unlink(missing_ok=True)
        raise


def _verified(path: Path) -> tuple[tuple[str, int], ...]:
    entries: list[tuple[str, int]] = []
    with Ledger.open(str(path)) as ledger:
        for site in ledger.sites():
            verification = verify(ledger.engine, site)
            if not verification.holds:
                first = verification.findings[0]
                raise JournalDamaged(
                    f"The copy of site {site} does not verify: {first.place}: {first.says}",
                    hint="Nothing was kept; verify the ledger itself.",
                )
            entries.append((site, verification.entries))
    return tuple(entries)


def _opened(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise StoreNotReachable(f"There is no ledger at {path}.", hint="Check the name.")
    return sqlite3.connect(path)
