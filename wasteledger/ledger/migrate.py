"""Bringing a store to the present form of the tables, over a connection that is handed in.

Alembic is loaded only when something has to be done, so that an ordinary command does not pay for it.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect

from wasteledger.errors import StoreNotReachable

HEAD = "0001"
"""The newest revision that this release knows."""

_MIGRATIONS = Path(__file__).parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """The revision that the store is at; None where it has no tables of ours yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if found is None else str(found)


def bring_up(connection: Connection, revision: str = HEAD) -> None:
    """Run the migrations up to *revision* in the transaction of *connection*.

    Raises:
        StoreNotReachable: The store was made by a newer release.
    """
    present = revision_of(connection)
    if present == revision:
        return
    if present is not None and present > HEAD:
        raise StoreNotReachable(
            f"This ledger was made by a newer release (form {present}; this one knows {HEAD}).",
            hint="Install the newer release; nothing was changed.",
        )
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
