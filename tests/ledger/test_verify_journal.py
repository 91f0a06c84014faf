"""Verify names the entry that was changed, removed, moved or put in behind the guards."""

from __future__ import annotations

import sqlite3

import pytest

from tests.ledger.damage import behind_the_guards, codes, marked
from tests.makers import (
    Clinic,
)
from wasteledger.ledger.chain import digest_of, entry_bytes
from wasteledger.ledger.rows import entry_values


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("body", '{"text":"nothing happened"}'),
        ("body", "{"),
        ("body", "[" * 100_000),
        ("body", None),
        ("kind", "polish"),
        ("version", 2),
        ("version", "one"),
        ("happened_at", "2026-01-01 00:00:00.000000"),
        ("happened_at", "yesterday"),
        ("recorded_at", "2026-01-01 00:00:00.000000"),
        ("recorded_by", "mo"),
        ("door", "web"),
        ("trap", "2-SE"),
        ("container", None),
        ("pickup", "P-9"),
        ("key", "another"),
        ("previous", "0" * 64),
        ("digest", "f" * 64),
        ("digest", b"\xff"),
    ],
)
def test_any_changed_column_names_its_entry(busy: Clinic, column: str, value: object) -> None:
    seq = marked(busy)
    with behind_the_guards(busy) as sql:
        sql.execute("PRAGMA ignore_check_constraints = ON")
        try:
            sql.execute(f"UPDATE journal SET {column} = ? WHERE seq = ?", (value, seq))
        except sqlite3.IntegrityError:
            # The table wants a value there; bytes that mean nothing stand for one that is missing.
            sql.execute(f"UPDATE journal SET {column} = x'00' WHERE seq = ?", (seq,))

    verification = busy.verify()

    assert verification.first_bad == seq
    assert not verification.holds


@pytest.mark.parametrize("site", ["'oak'", "x'ff'", "''"])
def test_an_entry_put_under_another_site_is_named(busy: Clinic, site: str) -> None:
    with behind_the_guards(busy) as sql:
        sql.execute(f"UPDATE journal SET site = {site} WHERE seq = 23")

    verification = busy.verify()

    assert verification.first_bad == 23
    assert "entry-missing" in codes(verification)


@pytest.mark.parametrize("number", ["'two'", "x'00'", "2.5", "-1"])
def test_a_number_that_is_none_is_found(busy: Clinic, number: str) -> None:
    with behind_the_guards(busy) as sql:
        sql.execute(f"UPDATE journal SET seq = {number} WHERE seq = 2")

    assert busy.verify().first_bad is not None


def test_a_body_rewritten_with_other_spacing_is_found(busy: Clinic) -> None:
    seq = marked(busy)
    with behind_the_guards(busy) as sql:
        sql.execute("UPDATE journal SET body = replace(body, '\":', '\": ') WHERE seq = ?", (seq,))

    verification = busy.verify()

    assert verification.first_bad == seq
    assert "canonical" in verification.findings[0].says


@pytest.mark.parametrize("seq", [1, 2, 25])
def test_a_deleted_entry_is_named(busy: Clinic, seq: int) -> None:
    with behind_the_guards(busy) as sql:
        sql.execute("DELETE FROM journal WHERE seq = ?", (seq,))

    verification = busy.verify()

    assert verification.first_bad == seq
    assert "entry-missing" in codes(verification)


def test_a_deleted_last_entry_is_named(busy: Clinic) -> None:
    last = busy.entries()[-1].seq
    with behind_the_guards(busy) as sql:
        sql.execute("DELETE FROM journal WHERE seq = ?", (last,))

    verification = busy.verify()

    assert verification.first_bad == last
    assert codes(verification) == ["end-differs"]


def test_a_whole_journal_that_is_gone_is_named(busy: Clinic) -> None:
    with behind_the_guards(busy) as sql:
        sql.execute("DELETE FROM journal")

    assert busy.verify().first_bad == 1


def test_two_swapped_entries_are_named(busy: Clinic) -> None:
    with behind_the_guards(busy) as sql:
        for before, after in ((23, -1), (24, 23), (-1, 24)):
            sql.execute("UPDATE journal SET seq = ? WHERE seq = ?", (after, before))

    assert busy.verify().first_bad == 23


def test_an_entry_written_past_the_program_is_named(busy: Clinic) -> None:
    """It is chained as it should be, yet nobody wrote down where the chain ends now."""
    last = busy.entries()[-1]
    forged = entry_values(last) | {"seq": last.seq + 1, "previous": last.digest, "key": "forged", "digest": ""}
    forged["digest"] = digest_of(entry_bytes(forged))
    forged |= {name: forged[name].strftime("%Y-%m-%d %H:%M:%S.%f") for name in ("happened_at", "recorded_at")}
    with behind_the_guards(busy) as sql:
        sql.execute(
            f"INSERT INTO journal ({', '.join(forged)}) VALUES ({', '.join('?' for _ in forged)})",
            tuple(forged.values()),
        )

    verification = busy.verify()

    assert codes(verification) == ["end-differs"]
    assert verification.first_bad == last.seq + 1
