"""Triggers by which the database itself refuses to change or forget an entry.

Guards stop mistakes and careless programs. Somebody who owns the file can remove them: against that stand the chain
and the digests on printed papers.
"""

from __future__ import annotations

from sqlalchemy import Connection

GUARDED = "journal"


def sqlite_guards(table: str = GUARDED) -> list[str]:
    """The statements that make a SQLite table append-only."""
    refuse = f"SELECT RAISE(ABORT, 'append-only: {table}')"
    taken = f"SELECT 1 FROM {table} WHERE site = NEW.site AND (seq = NEW.seq OR key = NEW.key)"
    return [
        f"CREATE TRIGGER {table}_keep_update BEFORE UPDATE ON {table} BEGIN {refuse}; END",
        f"CREATE TRIGGER {table}_keep_delete BEFORE DELETE ON {table} BEGIN {refuse}; END",
        # REPLACE removes the old row without firing the delete trigger.
        f"CREATE TRIGGER {table}_keep_replace BEFORE INSERT ON {table} WHEN EXISTS ({taken}) BEGIN {refuse}; END",
    ]


def guard_names(table: str = GUARDED) -> frozenset[str]:
    """The names of the triggers that must be there."""
    return frozenset({f"{table}_keep_update", f"{table}_keep_delete", f"{table}_keep_replace"})


def missing_guards(connection: Connection) -> frozenset[str]:
    """Which guards the database lacks, or has with another text than ours."""
    wanted = dict(zip(sorted(guard_names()), sorted(sqlite_guards()), strict=True))
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    there = {str(name): str(sql) for name, sql in rows}
    return frozenset(name for name, sql in wanted.items() if there.get(name) != sql)
