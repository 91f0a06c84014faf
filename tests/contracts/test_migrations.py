"""Migrations make exactly the tables that the program speaks of, and never lose a guard on the way."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect

from tests.contracts.journals import Journal
from tests.makers import KIM, a_practice
from wasteledger.errors import StoreNotReachable
from wasteledger.ledger import migrate
from wasteledger.ledger.engine import open_engine, reading, writing
from wasteledger.ledger.guards import missing_guards
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.tables import METADATA

SCRIPTS = ScriptDirectory(str(Path(migrate.__file__).parent / "migrations"))
REVISIONS = [script.revision for script in SCRIPTS.walk_revisions()][::-1]


def differences(connection: Connection) -> list[object]:
    """What Alembic would still have to change to make the tables as the row classes have them."""
    context = MigrationContext.configure(connection, opts={"compare_type": True, "target_metadata": METADATA})
    return list(compare_metadata(context, METADATA))


def test_the_newest_revision_is_the_one_that_the_program_knows() -> None:
    assert SCRIPTS.get_heads() == [migrate.HEAD]
    assert REVISIONS[-1] == migrate.HEAD
    assert sorted(REVISIONS) == REVISIONS


def test_the_models_are_what_the_migrations_made(journal: Journal) -> None:
    with reading(journal.ledger.engine) as connection:
        assert differences(connection) == []
        there = set(inspect(connection).get_table_names())

    assert there == set(METADATA.tables) | {"alembic_version"}


def test_a_difference_would_be_seen(journal: Journal) -> None:
    with journal.raw_writing() as sql:
        sql.execute("ALTER TABLE trap ADD COLUMN colour TEXT")
        sql.execute("DROP INDEX ix_journal_site_happened_at")

    with reading(journal.ledger.engine) as connection:
        found = differences(connection)

    assert len(found) == 2


def test_a_column_may_be_empty_only_where_the_model_says_so(journal: Journal) -> None:
    models = METADATA.tables.values()

    with reading(journal.ledger.engine) as connection:
        told = inspect(connection)
        made = {
            (one.name, column["name"]): column["nullable"] for one in models for column in told.get_columns(one.name)
        }
        keys = {one.name: told.get_pk_constraint(one.name)["constrained_columns"] for one in models}

    assert made == {(one.name, column.name): column.nullable for one in models for column in one.columns}
    assert keys == {one.name: [column.name for column in one.primary_key] for one in models}
    assert {columns[0] for columns in keys.values()} == {"site"}


@pytest.mark.parametrize("revision", REVISIONS)
def test_every_revision_leaves_the_guards_in_place(tmp_path: Path, revision: str) -> None:
    engine = open_engine(str(tmp_path / "wasteledger.db"), create=True)

    for step in REVISIONS[: REVISIONS.index(revision) + 1]:
        with writing(engine) as connection:
            migrate.bring_up(connection, step)
        with reading(engine) as connection:
            assert missing_guards(connection) == frozenset()
            assert migrate.revision_of(connection) == step


def test_bringing_up_twice_changes_nothing(journal: Journal) -> None:
    before = journal.entries()

    with writing(journal.ledger.engine) as connection:
        migrate.bring_up(connection)

    assert journal.entries() == before
    assert journal.verify().holds


def test_a_newer_store_is_refused(journal: Journal) -> None:
    with journal.raw_writing() as sql:
        sql.execute("UPDATE alembic_version SET version_num = '9999'")

    with pytest.raises(StoreNotReachable, match="newer release"):
        Ledger.open(journal.location)
    with pytest.raises(StoreNotReachable, match="newer release"), writing(journal.ledger.engine) as connection:
        migrate.bring_up(connection)


def test_a_migration_that_fails_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "wasteledger.db"
    engine = open_engine(str(path), create=True)

    def half_done(connection: Connection) -> None:
        migrate.bring_up(connection)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), writing(engine) as connection:
        half_done(connection)

    with reading(engine) as connection:
        assert inspect(connection).get_table_names() == []


def test_migrating_leaves_logging_alone(tmp_path: Path) -> None:
    before = logging.root.handlers[:], logging.root.level, logging.getLogger("alembic").level

    Ledger.open(str(tmp_path / "wasteledger.db"), create=True).close()

    assert (logging.root.handlers[:], logging.root.level, logging.getLogger("alembic").level) == before


def test_two_who_make_the_same_ledger_at_once_make_one(tmp_path: Path) -> None:
    path = str(tmp_path / "wasteledger.db")

    def make(_: int) -> None:
        Ledger.open(path, create=True).close()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(make, range(4)))

    with Ledger.open(path) as ledger, ledger.writing("elm", KIM) as desk:
        for line in a_practice():
            desk.append(line)
    with reading(Ledger.open(path).engine) as connection:
        assert missing_guards(connection) == frozenset()
