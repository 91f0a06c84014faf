"""A practice whose ledger is damaged or forged by tests, and the tools for that."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from tests.makers import Clinic
from wasteledger.ledger.chain import digest_of, entry_bytes
from wasteledger.ledger.rows import entry_values
from wasteledger.ledger.verify import Verification

MARK = "the note that is looked for"


def path_of(clinic: Clinic) -> Path:
    return Path(str(clinic.ledger.engine.url.database))


@contextmanager
def behind_the_guards(clinic: Clinic) -> Iterator[sqlite3.Connection]:
    """A connection of somebody who owns the file; the guards are taken away and put back unchanged."""
    with closing(sqlite3.connect(path_of(clinic), isolation_level=None)) as sql:
        guards = sql.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            sql.execute(f"DROP TRIGGER {name}")
        yield sql
        for _, statement in guards:
            sql.execute(statement)


def codes(verification: Verification) -> list[str]:
    return [one.code for one in verification.findings]


def marked(clinic: Clinic) -> int:
    """The number of the entry that carries `MARK`."""
    return next(one.seq for one in clinic.entries() if one.body.note == MARK)


def rechain(clinic: Clinic, change: Callable[[int, dict[str, object]], None]) -> None:
    """Forge a chain whose digests are all right: change entries, then recompute every digest and the end."""
    rows = [entry_values(one) for one in clinic.entries()]
    previous = "0" * 64
    with behind_the_guards(clinic) as sql:
        for row in rows:
            change(row["seq"], row)
            row["previous"] = previous
            row["digest"] = previous = digest_of(entry_bytes(row))
            sql.execute(
                "UPDATE journal SET body = ?, previous = ?, digest = ?, happened_at = ? WHERE seq = ?",
                (
                    row["body"],
                    row["previous"],
                    row["digest"],
                    f"{row['happened_at']:%Y-%m-%d %H:%M:%S.%f}",
                    row["seq"],
                ),
            )
        sql.execute("UPDATE chain_end SET digest = ?", (previous,))
