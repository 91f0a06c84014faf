"""The journal as the contract tests see it, whichever database it lies in.

Another database joins by a maker of its own in `MAKERS`; the tests name none.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.makers import Clinic, Watch, make_clinic
from wasteledger.ledger.ledger import Ledger


@dataclass(slots=True, kw_only=True)
class Journal(Clinic):
    """A practice at work, and the ways around its program.

    Attributes:
        location: What `Ledger.open` takes.
        attacks: Statements by which somebody might change, forget or replace entry 2.
        refusal: What the database's driver raises when it refuses.
        raw_writing: A connection of the driver itself, in a transaction that is committed at the end.
        unguard: Takes the guards away, as the owner of a database can.
    """

    location: str
    attacks: tuple[str, ...]
    refusal: type[Exception]
    raw_writing: Callable[[], AbstractContextManager[Any]]
    unguard: Callable[[], None]


_COLUMNS = (
    "site, seq, kind, version, happened_at, recorded_at, recorded_by, door, body, trap, container, pickup, key, "
    "previous, digest"
)
_OTHER_SEQ = _COLUMNS.replace("seq", "900")
_UPSERT = "ON CONFLICT (site, seq) DO UPDATE SET body = '{}'"

ATTACKS = (
    "UPDATE journal SET recorded_by = 'nobody' WHERE seq = 2",
    "UPDATE journal SET seq = 200 WHERE seq = 2",
    "UPDATE OR REPLACE journal SET seq = 2 WHERE seq = 3",
    "DELETE FROM journal WHERE seq = 2",
    "DELETE FROM journal",
    f"REPLACE INTO journal ({_COLUMNS}) SELECT {_COLUMNS} FROM journal WHERE seq = 2",
    f"INSERT OR REPLACE INTO journal ({_COLUMNS}) SELECT {_OTHER_SEQ} FROM journal WHERE seq = 2",
    f"INSERT INTO journal ({_COLUMNS}) SELECT {_COLUMNS} FROM journal WHERE seq = 2 {_UPSERT}",
)


def make_sqlite_journal(folder: Path) -> Journal:
    """A journal in a SQLite file."""
    path = folder / "wasteledger.db"

    @contextmanager
    def raw_writing() -> Iterator[Any]:
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            yield connection
            connection.execute("COMMIT")

    def unguard() -> None:
        with raw_writing() as sql:
            for (name,) in sql.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                sql.execute(f"DROP TRIGGER {name}")

    path.write_bytes(_registered())
    watch = Watch()
    return Journal(
        ledger=Ledger.open(str(path), clock=watch),
        watch=watch,
        location=str(path),
        attacks=ATTACKS,
        refusal=sqlite3.IntegrityError,
        raw_writing=raw_writing,
        unguard=unguard,
    )


@cache
def _registered() -> bytes:
    """The file of a practice with its register written, made once."""
    with TemporaryDirectory() as folder:
        make_clinic(Path(folder)).ledger.close()
        return (Path(folder) / "wasteledger.db").read_bytes()


MAKERS: dict[str, Callable[[Path], Journal]] = {"sqlite": make_sqlite_journal}
