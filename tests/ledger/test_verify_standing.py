"""Verify compares what stands with what the entries give, and the guards with ours; the standing can be mended."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from tests.ledger.damage import codes, path_of
from tests.makers import (
    Clinic,
)
from wasteledger.ledger.engine import writing
from wasteledger.ledger.rebuild import rebuild


@pytest.mark.parametrize(
    ("statement", "code", "place"),
    [
        ("UPDATE container SET base_mg = base_mg - 1", "standing-differs", "container C-1"),
        ("UPDATE container SET closed_at = NULL", "standing-differs", "container C-1"),
        ("UPDATE container SET streams = 'teeth'", "standing-differs", "container C-1"),
        ("UPDATE container SET opened_at = 'never'", "standing-differs", "container C-1"),
        ("DELETE FROM container", "standing-differs", "container C-1"),
        ("INSERT INTO container_tally VALUES ('elm', 'C-1', 'pump', 'clogged', 1, 1, 1, 1, 0)", "standing-differs", ""),
        ("UPDATE trap SET swaps = 9 WHERE trap = '2-HV'", "standing-differs", "trap 2-HV"),
        ("UPDATE trap SET last_condition = 'lovely' WHERE trap = '2-HV'", "standing-differs", "trap 2-HV"),
        ("UPDATE trap SET details = '{}' WHERE trap = '2-HV'", "standing-differs", "trap 2-HV"),
        ("UPDATE trap SET trap = '3-HV' WHERE trap = '2-HV'", "standing-differs", "trap 3-HV"),
        ("UPDATE pickup SET status = 'closed'", "standing-differs", "pickup P-1"),
        ("UPDATE pickup SET planned_on = '2026-13-01'", "standing-differs", "pickup P-1"),
        ("UPDATE separator SET malfunction_seq = 0", "standing-differs", "separator SEP"),
        ("UPDATE register_line SET retired_at = since_at WHERE ref = 'mo'", "standing-differs", "person mo"),
        ("DELETE FROM milestone", "standing-differs", "milestone stock_limit_reached"),
        ("DELETE FROM mention WHERE ref = '2-HV' AND seq = 24", "mention-differs", "trap 2-HV"),
        ("INSERT INTO mention VALUES ('elm', 'trap', '2-HV', 1)", "mention-differs", "trap 2-HV"),
        ("DELETE FROM governing_correction", "correction-differs", "corrections"),
        ("UPDATE governing_correction SET action = 'void'", "correction-differs", "corrections"),
    ],
)
def test_what_stands_wrongly_is_found_and_mended(busy: Clinic, statement: str, code: str, place: str) -> None:
    with closing(sqlite3.connect(path_of(busy))) as sql:
        assert sql.execute(statement).rowcount > 0
        sql.commit()

    verification = busy.verify()

    assert set(codes(verification)) == {code}
    assert verification.first_bad is None
    assert place in {one.place for one in verification.findings} or not place
    with writing(busy.ledger.engine) as connection:
        assert rebuild(connection, busy.site) == len(busy.entries())
    assert busy.verify().holds


@pytest.mark.parametrize("column", ["entries", "digest"])
def test_a_changed_end_of_the_chain_is_found(busy: Clinic, column: str) -> None:
    with closing(sqlite3.connect(path_of(busy))) as sql:
        sql.execute(f"UPDATE chain_end SET {column} = 3")
        sql.commit()

    assert codes(busy.verify()) == ["end-differs"]


def test_a_missing_guard_is_found(busy: Clinic) -> None:
    with closing(sqlite3.connect(path_of(busy))) as sql:
        sql.execute("DROP TRIGGER journal_keep_update")

    verification = busy.verify()

    assert codes(verification) == ["guard-missing"]
    assert verification.findings[0].place == "trigger journal_keep_update"
    assert verification.first_bad is None
