"""Opening the store, and turning its errors into ours."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, DBAPIError
from sqlalchemy.pool import NullPool

from wasteledger.errors import JournalDamaged, StoreNotReachable, WasteLedgerError

BUSY_TIMEOUT_MS = 10_000
_BEGIN = "wasteledger_begin"


class DatabaseRefused(WasteLedgerError):
    """The database refused a statement: a guard, or a key that is taken."""

    code = "database-refused"


def open_engine(location: str, *, create: bool = False) -> Engine:
    """An engine for the ledger at *location*, a path or an ``sqlite:///`` URL.

    Raises:
        StoreNotReachable: No such file (and *create* is not set), a folder that is not there, another kind of URL, or
            a database that another program made.
        JournalDamaged: The file is empty (and *create* is not set), or no database.
    """
    path = _path_of(location)
    if not create and not path.exists():
        raise StoreNotReachable(
            f"There is no ledger at {path}.",
            hint="Name one with --ledger or WASTELEDGER_LEDGER, or make one: wasteledger setup PLAN.toml.",
        )
    if not path.parent.is_dir():
        raise StoreNotReachable(f"There is no folder {path.parent}.", hint="Make the folder first.")
    if path.exists():
        _check_file(path, create)
    # Not from text: a path may hold what means something in a URL.
    engine = create_engine(URL.create("sqlite", database=str(path)), poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _record: object) -> None:
        # The driver's own transaction handling begins too late; we send BEGIN ourselves.
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
        connection.execute("PRAGMA journal_mode=WAL")
        # FULL: a commit that was acknowledged survives a power cut.
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA foreign_keys=ON")
        connection.execute("PRAGMA recursive_triggers=ON")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql(str(connection.get_execution_options().get(_BEGIN, "BEGIN")))

    return engine


def _path_of(location: str) -> Path:
    if location.startswith("sqlite:///"):
        return Path(location.removeprefix("sqlite:///"))
    if "://" in location:
        scheme = location.split("://", 1)[0]
        raise StoreNotReachable(
            f"A ledger in “{scheme}” cannot be opened by this release.",
            hint="Give the path of a ledger file, such as wasteledger.db.",
        )
    return Path(location)


def _check_file(path: Path, create: bool) -> None:
    """See that nothing but a ledger, or an empty file if one may be made, gets our settings and our tables."""
    if not create and path.is_file() and path.stat().st_size == 0:
        raise JournalDamaged(
            f"The file {path} is empty; no ledger is in it.",
            hint="If it was a ledger, restore a backup; to begin a new one, remove the empty file.",
        )
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)) as connection:
            connection.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
            tables = {
                str(name) for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            }
    except (sqlite3.Error, UnicodeDecodeError) as error:
        # The driver cannot even read its own message where a broken name is quoted in it.
        raise translated(str(path), error) from error
    if not {"journal", "alembic_version"} <= tables and (tables or not create):
        raise StoreNotReachable(
            f"The file {path} belongs to another program." if tables else f"There is no ledger in {path}.",
            hint="Check the name; nothing in it was changed.",
        )


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A reading transaction: one consistent view; it is never turned into a writing one."""
    with _ours(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A writing transaction: the lock is taken first, then the end of the chain is read."""
    options = {_BEGIN: "BEGIN IMMEDIATE"}
    with _ours(engine), engine.connect().execution_options(**options) as connection, connection.begin():
        yield connection


@contextmanager
def lenient_text(connection: Connection) -> Iterator[None]:
    """Read text that is no UTF-8 with its odd bytes marked, so that a check can name its place instead of failing."""
    raw = connection.connection.dbapi_connection
    if not isinstance(raw, sqlite3.Connection):
        yield
        return
    kept = raw.text_factory
    raw.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        yield
    finally:
        raw.text_factory = kept


@contextmanager
def _ours(engine: Engine) -> Iterator[None]:
    place = engine.url.database or "the ledger"
    try:
        yield
    except DBAPIError as error:
        raise translated(place, error.orig if error.orig is not None else error) from error
    except sqlite3.Error as error:
        raise translated(place, error) from error


def translated(place: str, error: Any) -> WasteLedgerError:
    """Our own error for what the driver said."""
    said = str(error)
    if "append-only" in said or "UNIQUE constraint" in said:
        return DatabaseRefused(f"The database refused it: {said}.", hint="Nothing was written.")
    if any(word in said for word in ("malformed", "not a database", "disk image", "decode", "file format")):
        return JournalDamaged(
            f"The file {place} is damaged: {said}.", hint="Keep it as it is, and restore a backup beside it."
        )
    if "locked" in said or "busy" in said:
        return StoreNotReachable(
            f"Another program has held {place} for more than {BUSY_TIMEOUT_MS // 1000} seconds.",
            hint="Nothing was written. Try again.",
        )
    if isinstance(error, sqlite3.OperationalError | DatabaseError):
        return StoreNotReachable(f"The ledger {place} cannot be used: {said}.", hint="Nothing was written.")
    return DatabaseRefused(f"The database refused it: {said}.", hint="Nothing was written.")
