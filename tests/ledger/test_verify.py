"""Verify names the first entry that differs, whatever was done to the file."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from tests.makers import (
    MONDAY_MORNING,
    Clinic,
    Watch,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_look,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_weighing,
    an_inspection,
    an_opening,
    make_clinic,
)
from wasteledger.errors import JournalDamaged, NotUnderstood, WasteLedgerError
from wasteledger.ledger.chain import digest_of, entry_bytes
from wasteledger.ledger.engine import writing
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.rebuild import rebuild
from wasteledger.ledger.rows import entry_values
from wasteledger.ledger.verify import Paper, Verification, verify
from wasteledger.model.entries import Milestone

MARK = "the note that is looked for"


@pytest.fixture(scope="module")
def busy_practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The practice's file after a full life of a container, a correction, and an inspection."""
    folder = tmp_path_factory.mktemp("busy")
    clinic = make_clinic(folder)
    clinic.record(an_opening())
    swap = clinic.record(a_swap(note=MARK))
    clinic.record(a_look("2-HV"))
    clinic.record(a_deposit())
    clinic.record(a_replacement(swap, a_swap("2-HV")))
    clinic.record(a_weighing())
    clinic.record(an_inspection("malfunction"))
    clinic.record(Milestone(what="stock_limit_reached"))
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    clinic.record(a_receipt())
    assert clinic.verify().holds
    clinic.ledger.close()
    return folder / "wasteledger.db"


@pytest.fixture
def busy(busy_practice: Path, tmp_path: Path) -> Iterator[Clinic]:
    """That practice at work, three days later."""
    watch = Watch(MONDAY_MORNING + timedelta(days=3))
    shutil.copy(busy_practice, tmp_path / "wasteledger.db")
    with Ledger.open(str(tmp_path / "wasteledger.db"), clock=watch) as ledger:
        yield Clinic(ledger, watch)


def path_of(clinic: Clinic) -> Path:
    return Path(str(clinic.ledger.engine.url.database))


@contextmanager
def behind_the_guards(clinic: Clinic) -> Iterator[sqlite3.Connection]:
    """A connection of somebody who owns the file; the guards are taken away and put back unchanged."""
    with closing(sqlite3.connect(path_of(clinic), isolation_level=None)) as sql:
        guards = sql.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            sql.execute(f"DROP TRIGGER {name}")
        yield sql
        for _, statement in guards:
            sql.execute(statement)


def codes(verification: Verification) -> list[str]:
    return [one.code for one in verification.findings]


def marked(clinic: Clinic) -> int:
    """The number of the entry that carries `MARK`."""
    return next(one.seq for one in clinic.entries() if one.body.note == MARK)


# -- a good chain ------------------------------------------------------------------------------------------------------


def test_a_good_chain_holds(busy: Clinic) -> None:
    told: list[int] = []

    verification = verify(busy.ledger.engine, "elm", progress=told.append)

    last = busy.entries()[-1]
    assert verification == Verification("elm", last.seq, last.digest, None, ())
    assert told == [last.seq]


def test_a_site_without_a_chain_is_reported(busy: Clinic) -> None:
    assert codes(verify(busy.ledger.engine, "oak")) == ["no-such-site"]


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


# -- the journal changed behind the guards -----------------------------------------------------------------------------


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


def rechain(clinic: Clinic, change: Callable[[int, dict[str, object]], None]) -> None:
    """Forge a chain whose digests are all right: change entries, then recompute every digest and the end."""
    rows = [entry_values(one) for one in clinic.entries()]
    previous = "0" * 64
    with behind_the_guards(clinic) as sql:
        for row in rows:
            change(row["seq"], row)
            row["previous"] = previous
            row["digest"] = previous = digest_of(entry_bytes(row))
            sql.execute(
                "UPDATE journal SET body = ?, previous = ?, digest = ?, happened_at = ? WHERE seq = ?",
                (
                    row["body"],
                    row["previous"],
                    row["digest"],
                    f"{row['happened_at']:%Y-%m-%d %H:%M:%S.%f}",
                    row["seq"],
                ),
            )
        sql.execute("UPDATE chain_end SET digest = ?", (previous,))


def test_a_forged_chain_gives_itself_away_by_what_stands(busy: Clinic) -> None:
    seq = next(one.seq for one in busy.entries() if one.kind == "deposit")

    def change(number: int, row: dict[str, object]) -> None:
        if number == seq:
            row["body"] = str(row["body"]).replace('"count":3', '"count":2')

    rechain(busy, change)

    verification = busy.verify()
    assert verification.first_bad is None
    assert codes(verification) == ["standing-differs"]
    assert "pieces" in verification.findings[0].says


def test_a_forged_chain_does_not_agree_with_a_paper(busy: Clinic) -> None:
    papers = [Paper(one.seq, one.digest) for one in busy.entries()]
    seq = marked(busy)
    rechain(busy, lambda number, row: row.update(body=str(row["body"]).replace(MARK, "x")) if number == seq else None)

    agreeing = [paper.seq for paper in papers if verify(busy.ledger.engine, "elm", paper=paper).holds]

    assert agreeing == list(range(1, seq))


@pytest.mark.parametrize(
    ("was", "is_now"),
    [
        ('"corrects":23', '"corrects":27'),
        ('"corrects":23', '"corrects":26'),
        ('"corrects":23', '"corrects":999'),
    ],
    ids=["a later one", "itself", "none"],
)
def test_a_forged_correction_of_what_is_not_before_it_is_named(busy: Clinic, was: str, is_now: str) -> None:
    seq = next(one.seq for one in busy.entries() if one.kind == "correction")
    assert (marked(busy), seq) == (23, 26)
    rechain(busy, lambda number, row: row.update(body=str(row["body"]).replace(was, is_now)))

    verification = busy.verify()

    assert (verification.first_bad, codes(verification)) == (seq, ["entry-impossible"])


def test_a_forged_correction_of_a_correction_is_named(busy: Clinic) -> None:
    busy.record(a_correction(5, "void"))
    last = busy.entries()[-1].seq
    rechain(busy, lambda _, row: row.update(body=str(row["body"]).replace('"corrects":5', '"corrects":26')))

    assert (busy.verify().first_bad, codes(busy.verify())) == (last, ["entry-impossible"])


def test_a_forged_chain_that_could_never_have_been_is_named(busy: Clinic) -> None:
    entries = busy.entries()
    closing_seq = next(one.seq for one in entries if one.kind == "container_closed")
    deposit = next(one for one in entries if one.kind == "deposit")

    def change(number: int, row: dict[str, object]) -> None:
        if number == closing_seq:
            row["happened_at"] = entries[deposit.seq - 2].happened_at

    rechain(busy, change)

    verification = busy.verify()
    assert (verification.first_bad, codes(verification)) == (deposit.seq, ["entry-impossible"])
    assert "was closed" in verification.findings[0].says


def test_a_forged_entry_from_before_it_was_known_is_named(busy: Clinic) -> None:
    """Nothing can have been recorded before it happened."""
    look = next(one for one in busy.entries() if one.kind == "look")

    def change(number: int, row: dict[str, object]) -> None:
        if number == look.seq:
            row["happened_at"] = look.recorded_at.replace(year=look.recorded_at.year + 1)

    rechain(busy, change)

    assert (busy.verify().first_bad, codes(busy.verify())[0]) == (look.seq, "entry-impossible")


# -- what is computed --------------------------------------------------------------------------------------------------


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


# -- papers ------------------------------------------------------------------------------------------------------------


def test_a_paper_agrees_by_the_beginning_of_its_digest(busy: Clinic) -> None:
    entry = busy.entries()[9]
    shown = f"{entry.seq}: {entry.digest[:8].upper()} {entry.digest[8:16].upper()}"

    assert verify(busy.ledger.engine, "elm", paper=Paper.parse(shown)).holds


@pytest.mark.parametrize("seq", [10, 999])
def test_a_wrong_paper_is_found(busy: Clinic, seq: int) -> None:
    verification = verify(busy.ledger.engine, "elm", paper=Paper.parse(f"{seq}:deadbeefdeadbeef"))

    assert codes(verification) == ["paper-differs"]
    assert verification.findings[0].place == f"paper {seq}:deadbeefdeadbeef"


@pytest.mark.parametrize(
    "text", ["", "12", "12:", "12:abc", "12:xyzxyzxyz", "x:deadbeef", "12:" + "0" * 65, "-1:deadbeef"]
)
def test_no_foot_of_a_paper(text: str) -> None:
    with pytest.raises(NotUnderstood, match="foot"):
        Paper.parse(text)


def test_verifying_changes_nothing(busy: Clinic, tmp_path: Path) -> None:
    busy.ledger.close()
    kept = tmp_path / "kept.db"
    shutil.copy(path_of(busy), kept)

    assert busy.verify().holds

    busy.ledger.close()
    assert path_of(busy).read_bytes() == kept.read_bytes()
