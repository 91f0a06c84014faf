"""Opening a store: what is there, what is not, and what is something else."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.makers import Clinic, a_look, make_clinic
from wasteledger.errors import ExitStatus, JournalDamaged, StoreNotReachable
from wasteledger.ledger import engine as engines
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.migrate import HEAD
from wasteledger.ledger.verify import verify


def test_a_missing_ledger_is_not_made_by_opening_it(tmp_path: Path) -> None:
    with pytest.raises(StoreNotReachable, match="no ledger at") as refused:
        Ledger.open(str(tmp_path / "nowhere.db"))

    assert "wasteledger setup" in refused.value.hint
    assert list(tmp_path.iterdir()) == []


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreNotReachable, match="no folder"):
        Ledger.open(str(tmp_path / "nowhere" / "wasteledger.db"), create=True)


@pytest.mark.parametrize("url", ["mysql://somewhere/x", "https://example.org/x"])
def test_another_kind_of_store_is_refused(url: str) -> None:
    with pytest.raises(StoreNotReachable, match="cannot be opened by this release"):
        Ledger.open(url)


def test_a_folder_is_no_ledger(tmp_path: Path) -> None:
    with pytest.raises(StoreNotReachable):
        Ledger.open(str(tmp_path))


@pytest.mark.parametrize("name", ["what? really.db", "50%25.db", "no#1.db", "Zoë’s ledger.db", "a;b&c=d.db"])
def test_a_file_may_have_any_name(tmp_path: Path, name: str) -> None:
    clinic = make_clinic(tmp_path, name=name)
    clinic.record(a_look())
    clinic.ledger.close()

    assert (tmp_path / name).is_file()
    assert Ledger.open(str(tmp_path / name)).sites() == ["elm"]
    assert Ledger.open(f"sqlite:///{tmp_path / name}").sites() == ["elm"]


def test_an_empty_file_is_no_ledger_and_stays_empty(tmp_path: Path) -> None:
    """A ledger that was cut to nothing must not turn into a new one."""
    empty = tmp_path / "wasteledger.db"
    empty.touch()

    with pytest.raises(JournalDamaged, match="empty"):
        Ledger.open(str(empty))

    assert empty.stat().st_size == 0


@pytest.mark.parametrize("create", [False, True])
def test_the_database_of_another_program_is_left_alone(tmp_path: Path, create: bool) -> None:
    path = tmp_path / "recipes.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE recipe (title TEXT)")

    with pytest.raises(StoreNotReachable, match="another program"):
        Ledger.open(str(path), create=create)

    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == [("recipe",)]


def test_garbage_is_reported_as_damage(tmp_path: Path) -> None:
    path = tmp_path / "wasteledger.db"
    path.write_bytes(b"this was never a ledger, only a note about one\n" * 300)

    with pytest.raises(JournalDamaged) as refused:
        Ledger.open(str(path))

    assert refused.value.exit_status == ExitStatus.JOURNAL_DAMAGED


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_truncated_file_is_reported_as_damage(clinic: Clinic, share: float) -> None:
    path = Path(str(clinic.ledger.engine.url.database))
    clinic.record(a_look())
    clinic.ledger.close()
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share) // 4096 * 4096])

    with pytest.raises(JournalDamaged), Ledger.open(str(path)) as ledger:
        verify(ledger.engine, clinic.site)


def test_a_ledger_of_a_newer_release_is_refused_unchanged(clinic: Clinic) -> None:
    path = Path(str(clinic.ledger.engine.url.database))
    clinic.ledger.close()
    with closing(sqlite3.connect(path)) as other:
        other.execute("UPDATE alembic_version SET version_num = '9999'")
        other.commit()

    with pytest.raises(StoreNotReachable, match="newer release") as refused:
        Ledger.open(str(path))

    assert HEAD in str(refused.value)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT version_num FROM alembic_version").fetchall() == [("9999",)]


def test_a_connection_waits_is_durable_and_keeps_its_guards_on(clinic: Clinic) -> None:
    with engines.reading(clinic.ledger.engine) as connection:
        asked = ("journal_mode", "synchronous", "busy_timeout", "foreign_keys", "recursive_triggers")
        said = [connection.exec_driver_sql(f"PRAGMA {one}").scalar() for one in asked]

    assert said == ["wal", 2, engines.BUSY_TIMEOUT_MS, 1, 1]


def test_a_held_lock_is_reported_after_the_timeout(clinic: Clinic, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "BUSY_TIMEOUT_MS", 100)
    path = str(clinic.ledger.engine.url.database)

    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreNotReachable, match="Another program has held") as refused:
            clinic.record(a_look())
        other.execute("ROLLBACK")

    assert refused.value.exit_status == ExitStatus.STORE_NOT_REACHABLE
    assert clinic.record(a_look()).body == a_look()


def test_reading_goes_on_while_somebody_writes(clinic: Clinic) -> None:
    path = str(clinic.ledger.engine.url.database)
    before = clinic.entries()

    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("DELETE FROM chain_end")
        assert clinic.entries() == before
        other.execute("ROLLBACK")


def test_no_path_or_word_of_the_driver_is_lost_on_the_way(clinic: Clinic) -> None:
    with (
        pytest.raises(StoreNotReachable, match="no such table") as refused,
        engines.reading(clinic.ledger.engine) as one,
    ):
        one.exec_driver_sql("SELECT * FROM nowhere")

    assert refused.value.__cause__ is not None
