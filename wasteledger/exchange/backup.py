"""Backups of a ledger's file while it is in use, checked at once; and their return."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from wasteledger.errors import JournalDamaged, WasteLedgerError
from wasteledger.ledger.copies import Beyond, copy_ledger, entries_beyond, lay_to_rest, remove_ledger
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import verify

Lost = Beyond
"""What a restore would lose: entries of a site that the backup does not have, or has otherwise."""


class WouldOverwrite(WasteLedgerError):
    """There is something there already."""

    code = "would-overwrite"


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy that was made and verified: where, and how many entries each site has in it.

    *kept* is where a ledger went whose place was taken.
    """

    path: Path
    entries: tuple[tuple[str, int], ...]
    kept: Path | None = None


def back_up(source: Path, target: Path) -> Copied:
    """Copy the ledger at *source* to the new file *target*, and verify the copy; others may write meanwhile.

    The backup is one file that needs nothing beside it. *target* appears only when it is whole and verified.

    Raises:
        WouldOverwrite: *target* is there.
        StoreNotReachable: *source* is not there, or *target* cannot be written.
        JournalDamaged: The copy does not verify; it is taken away again.
    """
    _refuse_to_overwrite(target)
    with _verified_copy(source, target) as (fresh, entries):
        _refuse_to_overwrite(target)
        fresh.replace(target)
    return Copied(target, entries)


def restore(backup: Path, target: Path, *, overwrite: bool = False) -> Copied:
    """Put *backup* in the place of *target*; what it would lose is said before anything is touched.

    The ledger that was there is kept beside it, with ``.before-restore`` added to its name, and a number where there
    is one already. The backup itself is only read.

    Raises:
        WouldOverwrite: *target* is there and *overwrite* is not said; names what would be lost.
        StoreNotReachable: *backup* is not there, or another program has *target* open.
        JournalDamaged: The backup does not verify.
    """
    with _verified_copy(backup, target) as (fresh, entries):
        if not target.exists():
            fresh.replace(target)
            return Copied(target, entries)
        if not overwrite:
            raise WouldOverwrite(
                f"{target} is there already. Restoring would lose {in_words(would_lose(fresh, target))}.",
                hint="Say --overwrite if that is what you want, or restore to another file.",
            )
        kept = _put_aside(target)
        fresh.replace(target)
    return Copied(target, entries, kept)


def would_lose(backup: Path, target: Path) -> tuple[Lost, ...] | None:
    """What *target* has and *backup* has not, by site; None where *target* cannot be read, so nobody knows.

    Raises:
        StoreNotReachable: *backup* is not there, or is no ledger.
        JournalDamaged: *backup* is no database.
    """
    entries_beyond(backup, backup)
    try:
        return entries_beyond(target, backup)
    except WasteLedgerError:
        return None


def in_words(lost: tuple[Lost, ...] | None) -> str:
    """What would be lost, as a sentence goes on after “would lose”."""
    if lost is None:
        return "what is in it, which cannot be read"
    listed = (
        f"site {one.site}: entries {one.first} to {one.last}{'' if one.agrees else ' (the backup goes on otherwise)'}"
        for one in lost
    )
    return "; ".join(listed) or "no entry"


def _refuse_to_overwrite(target: Path) -> None:
    if target.exists():
        raise WouldOverwrite(f"{target} is there already.", hint="Give the backup a name of its own.")


@contextmanager
def _verified_copy(source: Path, target: Path) -> Iterator[tuple[Path, tuple[tuple[str, int], ...]]]:
    """A copy of *source* beside *target*, whole and verified; gone again unless the block moves it."""
    fresh = target.with_name(f"{target.name}.unfinished")
    remove_ledger(fresh)
    try:
        copy_ledger(source, fresh)
        entries = _verified(fresh)
        lay_to_rest(fresh)
        yield fresh, entries
    finally:
        remove_ledger(fresh)


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


def _put_aside(target: Path) -> Path:
    """Give the ledger at *target* a second name, under which it stays when another takes its place."""
    try:
        lay_to_rest(target)
    except JournalDamaged:
        # What cannot be read is kept as it is, with whatever lies beside it.
        return _moved(target, _free_name(target))
    kept = _free_name(target)
    try:
        # A second name for the same file: at no moment is there no ledger.
        os.link(target, kept)
    except OSError:
        return _moved(target, kept)
    return kept


def _moved(target: Path, kept: Path) -> Path:
    for ending in ("-wal", "-shm", "-journal"):
        beside = target.with_name(target.name + ending)
        if beside.exists():
            beside.replace(kept.with_name(kept.name + ending))
    return target.replace(kept)


def _free_name(target: Path) -> Path:
    number = 1
    while True:
        name = f"{target.name}.before-restore{'' if number == 1 else f'-{number}'}"
        if not target.with_name(name).exists():
            return target.with_name(name)
        number += 1
