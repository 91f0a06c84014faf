"""The database itself refuses to change or forget an entry."""

from __future__ import annotations

import sqlite3
from contextlib import suppress

import pytest
from sqlalchemy import create_engine

from tests.contracts.journals import ATTACKS, Journal
from tests.makers import a_swap, an_opening
from wasteledger.ledger.engine import DatabaseRefused, writing
from wasteledger.ledger.guards import guard_names, missing_guards, sqlite_guards


def test_the_database_itself_refuses_to_forget(journal: Journal) -> None:
    """A kept entry survives someone who talks to the database directly."""
    journal.record(an_opening())
    journal.record(a_swap())
    before = journal.entries()

    assert journal.attacks
    for attack in journal.attacks:
        with pytest.raises(journal.refusal), journal.raw_writing() as sql:
            sql.execute(attack)
        assert journal.entries() == before, attack

    assert journal.verify().holds


def test_our_own_connection_is_refused_in_our_own_words(journal: Journal) -> None:
    for attack in journal.attacks:
        with pytest.raises(DatabaseRefused, match="refused"), writing(journal.ledger.engine) as connection:
            connection.exec_driver_sql(attack)

    assert journal.verify().holds


def test_the_attacks_would_succeed_without_the_guards(journal: Journal) -> None:
    """Else their refusal would show nothing."""
    journal.record(an_opening())
    journal.unguard()

    for attack in journal.attacks:
        with suppress(_Undone), journal.raw_writing() as sql:
            assert sql.execute(attack).rowcount > 0
            raise _Undone

    assert not journal.verify().holds
    assert {one.code for one in journal.verify().findings} == {"guard-missing"}


class _Undone(Exception):
    """Leaves a transaction without keeping it."""


def test_missing_and_weakened_guards_are_found() -> None:
    engine = create_engine("sqlite://")
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE journal (site TEXT, seq INTEGER, key TEXT)")
        assert missing_guards(connection) == guard_names()
        for statement in sqlite_guards():
            connection.exec_driver_sql(statement)
        assert missing_guards(connection) == frozenset()

        connection.exec_driver_sql("DROP TRIGGER journal_keep_delete")
        connection.exec_driver_sql(
            "CREATE TRIGGER journal_keep_delete BEFORE DELETE ON journal WHEN 0 BEGIN SELECT 1; END"
        )
        assert missing_guards(connection) == {"journal_keep_delete"}


def test_each_attack_here_is_a_different_one() -> None:
    assert len(set(ATTACKS)) == len(ATTACKS) >= 6
    assert sqlite3.complete_statement(ATTACKS[0] + ";")
