"""Verify names the first entry that differs, whatever was done to the file."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.ledger.damage import MARK, behind_the_guards, codes, marked, path_of
from tests.makers import (
    Clinic,
)
from wasteledger.errors import JournalDamaged, WasteLedgerError
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import Verification, verify
from wasteledger.model.entries import Remark

# -- a good chain ------------------------------------------------------------------------------------------------------


def test_a_good_chain_holds(busy: Clinic) -> None:
    told: list[int] = []

    verification = verify(busy.ledger.engine, "elm", progress=told.append)

    last = busy.entries()[-1]
    assert verification == Verification("elm", last.seq, last.digest, None, ())
    assert told == [last.seq]


def test_a_site_without_a_chain_is_reported(busy: Clinic) -> None:
    assert codes(verify(busy.ledger.engine, "oak")) == ["no-such-site"]


def test_a_year_of_three_digits_is_no_damage(busy: Clinic) -> None:
    busy.append(Remark(text="The year was typed wrong."), at=datetime(206, 11, 20, 10, 0, tzinfo=UTC))

    assert busy.verify().findings == ()


def test_what_cannot_be_read_is_said_in_whole_sentences(busy: Clinic) -> None:
    seq = marked(busy)
    with behind_the_guards(busy) as sql:
        sql.execute("UPDATE journal SET happened_at = '206-11-20 10:00:00.000000' WHERE seq = ?", (seq,))

    assert busy.verify().findings[0].says.endswith(".")


# -- the file changed --------------------------------------------------------------------------------------------------


def flip_a_letter(path: Path, text: bytes) -> None:
    """Change one byte of the only place in the file where *text* stands."""
    content = path.read_bytes()
    assert content.count(text) == 1
    where = content.index(text)
    with path.open("r+b") as file:
        file.seek(where)
        file.write(bytes([content[where] ^ 0x20]))


def test_one_changed_byte_of_the_file_is_found_and_its_entry_named(busy: Clinic) -> None:
    seq = marked(busy)
    with closing(sqlite3.connect(path_of(busy))) as sql:
        sql.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    flip_a_letter(path_of(busy), MARK.encode())

    verification = busy.verify()

    assert verification.first_bad == seq
    assert codes(verification) == ["entry-differs"]
    assert verification.findings[0].place == f"entry {seq}"


def test_a_byte_that_breaks_the_text_itself_is_found_too(busy: Clinic) -> None:
    """0x80 turned on makes no UTF-8, which the driver would refuse to read at all."""
    seq, path = marked(busy), path_of(busy)
    with closing(sqlite3.connect(path)) as sql:
        sql.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = bytearray(path.read_bytes())
    content[content.index(MARK.encode())] ^= 0x80
    path.write_bytes(content)

    verification = busy.verify()

    assert verification.first_bad == seq
    assert max(str(verification.findings)) < "\ud800"


def test_random_bytes_flipped_are_found_or_harmless(busy: Clinic, tmp_path: Path) -> None:
    """Whatever bit of the file turns, either verify finds it, or all entries and all that stands are unchanged."""
    path = path_of(busy)
    before = busy.entries(), standing_tables(path)
    busy.ledger.close()
    whole = path.read_bytes()
    written = [where for where, byte in enumerate(whole) if byte]
    drawn = random.Random(441)
    found = harmless = 0

    for number in range(80):
        flipped = tmp_path / f"flipped-{number}.db"
        content = bytearray(whole)
        content[drawn.choice(written)] ^= 1 << drawn.randrange(8)
        flipped.write_bytes(content)
        try:
            with Ledger.open(str(flipped)) as ledger:
                holds = verify(ledger.engine, "elm").holds
                if holds:
                    with ledger.reading("elm") as reader:
                        assert (list(reader.entries()), standing_tables(flipped)) == before, number
        except WasteLedgerError:
            holds = False
        found, harmless = found + (not holds), harmless + holds

    assert found > 20
    assert found + harmless == 80


def standing_tables(path: Path) -> list[list[tuple[object, ...]]]:
    names = ("container", "container_tally", "trap", "pickup", "separator", "register_line", "milestone", "mention")
    with closing(sqlite3.connect(path)) as sql:
        return [sorted(sql.execute(f"SELECT * FROM {name}").fetchall(), key=repr) for name in names]


def test_a_broken_page_is_reported_as_damage(busy: Clinic) -> None:
    path = path_of(busy)
    busy.ledger.close()
    with closing(sqlite3.connect(path)) as sql:
        (root,) = sql.execute("SELECT rootpage FROM sqlite_master WHERE name = 'journal'").fetchone()
    with path.open("r+b") as file:
        file.seek((root - 1) * 4096)
        file.write(b"\xff" * 4096)

    with pytest.raises(JournalDamaged), Ledger.open(str(path)) as ledger:
        verify(ledger.engine, "elm")


def test_verifying_changes_nothing(busy: Clinic, tmp_path: Path) -> None:
    busy.ledger.close()
    kept = tmp_path / "kept.db"
    shutil.copy(path_of(busy), kept)

    assert busy.verify().holds

    busy.ledger.close()
    assert path_of(busy).read_bytes() == kept.read_bytes()
