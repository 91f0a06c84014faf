"""What a ledger still knows of entries that were taken away behind the guards."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.makers import a_look, an_opening, make_clinic
from wasteledger.errors import ExitStatus, JournalDamaged
from wasteledger.ledger.reader import Filter
from wasteledger.ledger.verify import verify


def _behind_the_guards(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        guards = [row[0] for row in connection.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger'")]
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
        for name in names:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)
        for guard in guards:
            connection.execute(guard)
        connection.commit()


def test_a_cut_end_is_named_although_the_list_of_chains_was_mended(tmp_path: Path) -> None:
    clinic = make_clinic(tmp_path)
    clinic.record(an_opening())
    kept = clinic.record(a_look("1-HV"))
    clinic.record(a_look("2-HV"))
    path = Path(str(clinic.ledger.engine.url.database))
    _behind_the_guards(
        path,
        f"DELETE FROM journal WHERE seq > {kept.seq}",
        f"UPDATE chain_end SET entries = {kept.seq}, digest = '{kept.digest}'",
    )

    found = verify(clinic.ledger.engine, clinic.site)

    assert found.first_bad == kept.seq + 1
    assert "entries-removed" in [one.code for one in found.findings]


def test_a_site_that_is_in_the_journal_alone_is_missed(tmp_path: Path) -> None:
    clinic = make_clinic(tmp_path)
    path = Path(str(clinic.ledger.engine.url.database))
    _behind_the_guards(path, "DELETE FROM chain_end")

    found = verify(clinic.ledger.engine, clinic.site)

    assert "site-differs" in [one.code for one in found.findings]
    assert found.first_bad is not None


def test_an_entry_that_cannot_be_read_any_more_is_damage_and_not_a_typing_mistake(tmp_path: Path) -> None:
    clinic = make_clinic(tmp_path)
    look = clinic.record(a_look("1-HV"))
    path = Path(str(clinic.ledger.engine.url.database))
    _behind_the_guards(path, f"UPDATE journal SET body = '{{' WHERE seq = {look.seq}")

    with clinic.ledger.reading(clinic.site) as reader, pytest.raises(JournalDamaged, match=f"Entry {look.seq}") as bad:
        list(reader.entries(Filter(kinds=("look",))))

    assert bad.value.exit_status is ExitStatus.JOURNAL_DAMAGED
