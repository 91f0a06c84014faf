"""Backups: made while others write, verified at once, and never in the way of what is there."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.makers import KIM, Clinic, a_look, a_person, a_site, make_clinic
from wasteledger.errors import JournalDamaged, StoreNotReachable
from wasteledger.exchange import backup as backups
from wasteledger.exchange.backup import Copied, Lost, WouldOverwrite, back_up, in_words, restore, would_lose
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import verify
from wasteledger.model.facts import Entry

LAST = 33


@pytest.fixture
def path(lived_in: Clinic) -> Path:
    """Where the practice's ledger lies."""
    return Path(str(lived_in.ledger.engine.url.database))


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Where backups are kept."""
    (tmp_path / "shelf").mkdir()
    return tmp_path / "shelf"


def names(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


def entries_in(path: Path, site: str = "elm") -> list[Entry]:
    with Ledger.open(str(path)) as ledger, ledger.reading(site) as reader:
        return list(reader.entries())


# -- backing up --------------------------------------------------------------------------------------------------------


def test_a_backup_is_one_whole_verified_file(lived_in: Clinic, path: Path, shelf: Path) -> None:
    copied = back_up(path, shelf / "monday.db")

    assert copied == Copied(shelf / "monday.db", (("elm", LAST),))
    assert names(shelf) == ["monday.db"]
    assert entries_in(shelf / "monday.db") == lived_in.entries()
    with closing(sqlite3.connect(shelf / "monday.db")) as sql:
        assert sql.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone() == (3,)


def test_a_backup_can_be_read_where_nothing_can_be_written(path: Path, shelf: Path) -> None:
    back_up(path, shelf / "monday.db")

    with closing(sqlite3.connect(f"{(shelf / 'monday.db').as_uri()}?mode=ro", uri=True)) as sql:
        assert sql.execute("SELECT count(*) FROM journal").fetchone() == (LAST,)
    assert names(shelf) == ["monday.db"]


def test_a_backup_has_what_still_lies_in_the_write_ahead_log(lived_in: Clinic, path: Path, shelf: Path) -> None:
    with closing(sqlite3.connect(path)) as held_open:
        held_open.execute("SELECT count(*) FROM journal").fetchone()
        lived_in.record(a_look())
        assert (path.parent / "wasteledger.db-wal").stat().st_size > 0

        back_up(path, shelf / "monday.db")

    assert len(entries_in(shelf / "monday.db")) == LAST + 1


def test_a_backup_while_somebody_writes_is_one_moment_of_the_ledger(lived_in: Clinic, path: Path, shelf: Path) -> None:
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            lived_in.append(a_look())

    writer = threading.Thread(target=write)
    writer.start()
    try:
        made = [back_up(path, shelf / f"{number}.db") for number in range(5)]
    finally:
        stop.set()
        writer.join()

    whole = lived_in.entries()
    for copied in made:
        count = dict(copied.entries)["elm"]
        assert entries_in(copied.path) == whole[:count]
    assert lived_in.verify().holds


def test_a_backup_never_takes_the_place_of_a_file(path: Path, shelf: Path) -> None:
    (shelf / "monday.db").write_text("something else")

    with pytest.raises(WouldOverwrite, match=r"monday\.db is there already"):
        back_up(path, shelf / "monday.db")

    assert (shelf / "monday.db").read_text() == "something else"
    assert names(shelf) == ["monday.db"]


def test_a_backup_never_takes_the_place_of_a_file_that_came_meanwhile(
    path: Path, shelf: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    verified = backups._verified

    def slowly(fresh: Path) -> tuple[tuple[str, int], ...]:
        (shelf / "monday.db").write_text("something else")
        return verified(fresh)

    monkeypatch.setattr(backups, "_verified", slowly)

    with pytest.raises(WouldOverwrite):
        back_up(path, shelf / "monday.db")

    assert (shelf / "monday.db").read_text() == "something else"
    assert names(shelf) == ["monday.db"]


def test_a_ledger_that_does_not_hold_is_not_kept_as_a_backup(path: Path, shelf: Path) -> None:
    with closing(sqlite3.connect(path)) as sql:
        sql.execute("UPDATE trap SET swaps = 9")
        sql.commit()

    with pytest.raises(JournalDamaged, match="does not verify"):
        back_up(path, shelf / "monday.db")

    assert names(shelf) == []


def test_what_cannot_be_copied_is_said_of_the_right_file(path: Path, shelf: Path) -> None:
    (shelf / "garbage.db").write_bytes(b"no ledger at all " * 500)

    with pytest.raises(StoreNotReachable, match="nowhere"):
        back_up(shelf / "nowhere.db", shelf / "monday.db")
    with pytest.raises(JournalDamaged, match="garbage"):
        back_up(shelf / "garbage.db", shelf / "monday.db")
    with pytest.raises(StoreNotReachable, match=r"monday\.db"):
        back_up(path, shelf / "no folder" / "monday.db")

    assert names(shelf) == ["garbage.db"]


def test_an_unfinished_backup_of_yesterday_is_not_in_the_way(path: Path, shelf: Path) -> None:
    (shelf / "monday.db.unfinished").write_text("the power went")

    back_up(path, shelf / "monday.db")

    assert names(shelf) == ["monday.db"]


# -- restoring ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def monday(path: Path, shelf: Path) -> Path:
    """Monday's backup."""
    return back_up(path, shelf / "monday.db").path


def test_a_backup_is_restored_to_a_new_place(lived_in: Clinic, monday: Path, tmp_path: Path) -> None:
    kept = monday.read_bytes()

    copied = restore(monday, tmp_path / "new.db")

    assert copied == Copied(tmp_path / "new.db", (("elm", LAST),))
    assert entries_in(tmp_path / "new.db") == lived_in.entries()
    assert monday.read_bytes() == kept


def test_a_restored_ledger_goes_on(lived_in: Clinic, monday: Path, tmp_path: Path) -> None:
    restore(monday, tmp_path / "new.db")

    with Ledger.open(str(tmp_path / "new.db"), clock=lived_in.watch) as ledger:
        again = Clinic(ledger, lived_in.watch)
        assert again.record(a_look()).seq == LAST + 1
        assert again.verify().holds


def test_restoring_says_what_would_be_lost_and_touches_nothing(lived_in: Clinic, path: Path, monday: Path) -> None:
    lived_in.record(a_look())
    lived_in.record(a_look())
    with lived_in.ledger.writing("oak", KIM) as desk:
        desk.append(a_site("oak"))
        desk.append(a_person())
    before, kept = lived_in.entries(), monday.read_bytes()

    with pytest.raises(WouldOverwrite) as refused:
        restore(monday, path)

    assert "would lose site elm: entries 34 to 35; site oak: entries 1 to 2." in str(refused.value)
    assert "--overwrite" in refused.value.hint
    assert lived_in.entries() == before
    assert monday.read_bytes() == kept
    assert [name for name in names(path.parent) if name.startswith("wasteledger")] == ["wasteledger.db"]


def test_restoring_over_the_same_loses_nothing_and_still_asks(path: Path, monday: Path) -> None:
    with pytest.raises(WouldOverwrite, match="would lose no entry"):
        restore(monday, path)


def test_restoring_when_told_keeps_what_was_there_beside(lived_in: Clinic, path: Path, monday: Path) -> None:
    lived_in.record(a_look())
    longer = lived_in.entries()

    copied = restore(monday, path, overwrite=True)

    assert copied.kept == path.with_name("wasteledger.db.before-restore")
    assert entries_in(copied.kept) == longer
    assert lived_in.entries() == longer[:-1]
    assert lived_in.verify().holds


def test_two_restores_lose_nothing_either(lived_in: Clinic, path: Path, monday: Path) -> None:
    histories = []
    for _ in range(3):
        lived_in.record(a_look())
        histories.append(lived_in.entries())
        restore(monday, path, overwrite=True)

    kept = [path.with_name(f"wasteledger.db.before-restore{ending}") for ending in ("", "-2", "-3")]
    assert [entries_in(one) for one in kept] == histories
    assert len(lived_in.entries()) == LAST


def test_a_ledger_that_is_open_elsewhere_is_not_replaced(lived_in: Clinic, path: Path, monday: Path) -> None:
    """Whoever has it open would go on writing into a file that is nobody's ledger any more."""
    before = lived_in.entries()

    with closing(sqlite3.connect(path)) as other:
        other.execute("SELECT count(*) FROM journal").fetchone()
        with pytest.raises(StoreNotReachable, match="Another program"):
            restore(monday, path, overwrite=True)

    assert lived_in.entries() == before
    assert lived_in.verify().holds
    assert not [name for name in names(path.parent) if "restore" in name or "unfinished" in name]


@pytest.mark.parametrize("content", [b"", b"no ledger at all " * 500], ids=["empty", "garbage"])
def test_a_damaged_ledger_is_replaced_when_told_and_kept(
    lived_in: Clinic, path: Path, monday: Path, content: bytes
) -> None:
    whole = lived_in.entries()
    lived_in.ledger.close()
    path.write_bytes(content)

    assert would_lose(monday, path) is None
    with pytest.raises(WouldOverwrite, match="what is in it, which cannot be read"):
        restore(monday, path)
    copied = restore(monday, path, overwrite=True)

    assert copied.kept is not None
    assert copied.kept.read_bytes() == content
    assert lived_in.entries() == whole


def test_a_damaged_backup_is_refused_and_nothing_touched(lived_in: Clinic, path: Path, monday: Path) -> None:
    content = bytearray(monday.read_bytes())
    where = content.index("歯科".encode())
    content[where] ^= 0x01
    monday.write_bytes(content)
    before = lived_in.entries()

    with pytest.raises(JournalDamaged, match="entry 23"):
        restore(monday, path, overwrite=True)

    assert lived_in.entries() == before
    assert monday.read_bytes() == bytes(content)


def test_a_missing_backup_is_named(path: Path, shelf: Path) -> None:
    with pytest.raises(StoreNotReachable, match=r"tuesday\.db"):
        restore(shelf / "tuesday.db", path, overwrite=True)
    with pytest.raises(StoreNotReachable, match=r"tuesday\.db"):
        would_lose(shelf / "tuesday.db", path)


# -- what would be lost ------------------------------------------------------------------------------------------------


def test_two_ledgers_that_parted_lose_from_where_they_did(lived_in: Clinic, path: Path, monday: Path) -> None:
    elsewhere = path.with_name("elsewhere.db")
    shutil.copy(monday, elsewhere)
    for _ in range(3):
        lived_in.record(a_look())
    with Ledger.open(str(elsewhere), clock=lived_in.watch) as ledger:
        other = Clinic(ledger, lived_in.watch)
        for _ in range(5):
            other.record(a_look("2-SE"))

    assert would_lose(elsewhere, path) == (Lost("elm", 34, 36, agrees=False),)
    assert would_lose(path, elsewhere) == (Lost("elm", 34, 38, agrees=False),)
    assert would_lose(monday, path) == (Lost("elm", 34, 36, agrees=True),)
    assert would_lose(path, monday) == ()
    assert "goes on otherwise" in in_words(would_lose(elsewhere, path))


def test_a_ledger_of_another_practice_is_lost_whole(monday: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    other = make_clinic(tmp_path / "other")
    other.record(a_look())
    there = Path(str(other.ledger.engine.url.database))

    assert would_lose(monday, there) == (Lost("elm", 1, 22, agrees=False),)


def test_comparing_changes_neither(path: Path, monday: Path, lived_in: Clinic) -> None:
    lived_in.ledger.close()
    before = path.read_bytes(), monday.read_bytes()

    would_lose(monday, path)

    assert (path.read_bytes(), monday.read_bytes()) == before


@pytest.fixture(autouse=True)
def nothing_unfinished_is_left(tmp_path: Path) -> Iterator[None]:
    """Whatever happened, no half-made copy lies about."""
    yield
    assert not list(tmp_path.rglob("*.unfinished*"))


def test_verified_means_verified(monday: Path) -> None:
    with Ledger.open(str(monday)) as ledger:
        assert verify(ledger.engine, "elm").holds
