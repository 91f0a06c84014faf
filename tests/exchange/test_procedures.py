"""Tables of restorations as spreadsheets save them: what is read, and every fault with its line and column."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import pytest

from tests.makers import Clinic
from wasteledger.errors import NotUnderstood, StoreNotReachable
from wasteledger.exchange.journal import export_lines, import_chain
from wasteledger.exchange.procedures import COLUMNS, read_table, take_table
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import verify
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.office.procedures import BadTable
from wasteledger.office.workplace import Said, Workplace

HEAD = "from,to,room,removed_1,removed_4,removed_unknown,placed_2,note\r\n"


def bodies(text: str | bytes) -> list[Procedures]:
    """The rows of a table without a fault."""
    table = read_table(text if isinstance(text, bytes) else text.encode(), "week.csv")
    assert table.faults == ()
    return [row.body for row in table.rows]


def faults(text: str | bytes) -> list[str]:
    """Every fault, with its place."""
    table = read_table(text if isinstance(text, bytes) else text.encode(), "week.csv")
    return [f"{one.place.removeprefix('week.csv ')}: {one.says}" for one in table.faults]


def test_a_row_is_a_span_of_days(tmp_path: Path) -> None:
    assert bodies(HEAD + "2026-02-23,2026-02-27,r1,3,1,2,1,Day book\r\n") == [
        Procedures(
            first_on=date(2026, 2, 23),
            last_on=date(2026, 2, 27),
            room="r1",
            removed=BySurfaces(one=3, four_or_more=1, unknown=2),
            placed=BySurfaces(two=1),
            source="csv",
            note="Day book",
        )
    ]


def test_columns_stand_in_any_order_and_most_may_be_missing() -> None:
    (body,) = bodies("Placed_3, removed_unknown ,FROM\n,4,2026-02-23\n")

    assert (body.first_on, body.last_on, body.room, body.note) == (date(2026, 2, 23), date(2026, 2, 23), None, None)
    assert (body.removed, body.placed) == (BySurfaces(unknown=4), BySurfaces())


@pytest.mark.parametrize(
    "text",
    [
        "from;removed_1\n2026-02-23;3\n",
        "from\tremoved_1\n2026-02-23\t3\n",
        "\ufefffrom,removed_1\r\n2026-02-23,3\r\n",
        "\n\nfrom,removed_1\n\n2026-02-23,3\n,\n\n",
        '"from","removed_1"\n"2026-02-23"," 3 "',
        "from,removed_1\n2026-02-23,3,,,\n",
        "from,removed_1,note\n2026-02-23,3",
    ],
    ids=["semicolons", "tabs", "byte order mark", "blank lines", "quoted, no last line end", "padded", "short"],
)
def test_spreadsheets_save_it_in_their_own_ways(text: str) -> None:
    (body,) = bodies(text)

    assert (body.first_on, body.removed) == (date(2026, 2, 23), BySurfaces(one=3))


def test_every_column_is_read() -> None:
    counts = [name for name in COLUMNS if name.startswith(("removed", "placed"))]
    (body,) = bodies(",".join(["from", *counts]) + "\n2026-02-23," + ",".join(map(str, range(1, 11))) + "\n")

    assert body.removed == BySurfaces(one=1, two=2, three=3, four_or_more=4, unknown=5)
    assert body.placed == BySurfaces(one=6, two=7, three=8, four_or_more=9, unknown=10)


def test_nought_is_a_count_and_a_blank_is_none() -> None:
    assert bodies("from,removed_1\n2026-02-23,0\n")[0].removed == BySurfaces()
    assert faults("from,removed_1\n2026-02-23,\n") == ["line 2: It has no count. Write 0 where nothing was done."]


def test_every_fault_is_told_with_its_line_and_column() -> None:
    rows = (
        "2026-02-23,,,3,,,,\n"  # right
        "23.2.2026,,,three,,-1,,\n"
        ",2026-13-01,,1,,,,\n"
        "2026-02-27,2026-02-23,,1,,,,\n"
        "2026-02-24,,Room one,1,,,,\n"
        '2026-02-25,,,1,,,,"two\nlines"\n'  # a note of two lines: the next row begins on line 9
        "2026-02-26,,,1.5,1000000,,,,surplus\n"
        "2026-02-26,,,1000000,12,,,\n"
        "2024-02-26,2026-02-26,,1,,,,\n"
    )

    assert faults(HEAD + rows) == [
        "line 3, column from: “23.2.2026” is not a day. Write the year first, such as 2026-03-01.",
        "line 3, column removed_1: “three” is not a count. Write a whole number.",
        "line 3, column removed_unknown: “-1” is not a count. Write a whole number.",
        "line 4, column from: It is blank; every row wants its first day.",
        "line 4, column to: “2026-13-01” is not a day. Write the year first, such as 2026-03-01.",
        "line 5: The procedures cannot be written: the last day lies before the first.",
        "line 6, column room: “Room one” is not the short name of a room.",
        "line 9: It has 9 cells; there are 8 columns.",
        "line 10, column removed_1: “1000000” is not a count. Write a whole number.",
        "line 11: The procedures cannot be written: a span has at most 366 days.",
    ]
    assert len(read_table((HEAD + rows).encode(), "week.csv").rows) == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", ["line 1, column from: It is missing", "line 1: There is no column of counts"]),
        ("from,removed_1\n", ["line 1: There is no row below"]),
        ("from,to\n2026-02-23,\n", ["line 1: There is no column of counts"]),
        ("to,removed_1\n2026-02-23,1\n", ["line 1, column from: It is missing"]),
        ("from,removed_1,removed_5\n", ["line 1, column removed_5: It is not known here. Known are from, to, room,"]),
        ("from,,removed_1\n", ["line 1, column without a name: It is not known here"]),
        ("from,from,removed_1\n", ["line 1, column from: It is there twice"]),
        (b"from,removed_1\n2026-02-23,\xff\n", ["line 2: It is no UTF-8 text"]),
        ("from,removed_1\n2026-02-23,1\n".encode("utf-16"), ["line 1: It is no UTF-8 text"]),
        ('from,removed_1\n2026-02-23,1\n"2026', ["line 3: It cannot be read as CSV"]),
        ('from,removed_1\n"2026"x,1\n', ["line 2: It cannot be read as CSV"]),
    ],
)
def test_what_is_no_such_table_says_why(text: str | bytes, told: list[str]) -> None:
    found = faults(text)

    assert len(found) == len(told)
    assert all(one.startswith(start) for one, start in zip(found, told, strict=True)), found


def test_a_padded_head_is_taken_like_padded_rows() -> None:
    assert len(bodies("from,removed_1,,\n2026-02-23,1,,\n2026-02-24,2\n")) == 2
    assert faults("from,removed_1,,\n2026-02-23,1,,x\n") == ["line 2: It has 4 cells; there are 2 columns."]


@pytest.mark.parametrize("sign", ["\0", "\x1b", "\u202e"])
def test_a_control_sign_in_a_cell_is_never_said_as_it_is(sign: str) -> None:
    found = faults(f"from,room,removed_1\n2026{sign}x,r{sign}x,1{sign}x\n") + faults(f"from,re{sign}m,removed_1\n")

    assert len(found) == 4
    assert all(one.isprintable() for one in found)
    assert any(f"“1{sign.encode('unicode_escape').decode()}x” is not a count" in one for one in found)


def test_a_long_cell_is_said_short() -> None:
    (found,) = faults(f"from,removed_1\n2026-02-23,{'1' * 100_000}\n")
    assert len(found) < 150


def test_a_year_that_nobody_means_is_a_fault() -> None:
    (found,) = faults("from,removed_1\n0206-03-02,3\n")
    assert found.startswith("line 2, column from: 0206-03-02 is too far away")


def test_a_table_without_end_is_no_table_of_days() -> None:
    found = faults("from,removed_1\n" + "2026-02-23,1\n" * 10_050)

    assert found == ["line 10002: There are more than 10000 rows."]


# -- into the ledger -------------------------------------------------------------------------------------------------


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    return Workplace(clinic.ledger, clinic.site, "kim")


def test_a_file_is_taken_and_the_same_file_again_adds_nothing(place: Workplace, tmp_path: Path) -> None:
    file = tmp_path / "week.csv"
    file.write_text(HEAD + "2026-02-23,,r1,3,,,,\n2026-02-23,,r2,1,,,1,\n", "utf-8")

    first, again = take_table(place, file), take_table(place, file)

    assert first.says == "2 of 2 rows of week.csv written: 4 removed, 1 placed."
    assert again.says == "0 of 2 rows of week.csv written, 2 written before: 0 removed, 0 placed."
    assert [one.entry for one in again.rows] == [one.entry for one in first.rows]


def test_faults_of_the_file_and_of_the_ledger_are_told_together(place: Workplace, tmp_path: Path) -> None:
    file = tmp_path / "week.csv"
    file.write_text(HEAD + "2026-02-23,,attic,3,,,,\n2026-02-24,,,x,,,,\n2026-02-25,,,1,,,,\n", "utf-8")

    with pytest.raises(BadTable) as refusal:
        take_table(place, file, Said(note="Day book"))

    assert [one.place for one in refusal.value.findings] == ["week.csv line 2", "week.csv line 3, column removed_1"]
    with place.reading() as reader:
        assert not [one for one in reader.entries() if one.kind == "procedures"]


def test_a_file_that_is_not_there_is_named(place: Workplace, tmp_path: Path) -> None:
    with pytest.raises(StoreNotReachable, match=r"nowhere\.csv cannot be read"):
        take_table(place, tmp_path / "nowhere.csv")
    with pytest.raises(StoreNotReachable):
        take_table(place, tmp_path)


def test_what_is_no_file_of_rows_is_refused_before_it_is_read(place: Workplace, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    for file in (pipe, tmp_path, Path("/dev/zero")):
        with pytest.raises(StoreNotReachable, match="is no file of rows"):
            take_table(place, file)


def test_a_file_of_more_than_ten_megabytes_is_not_read_on(place: Workplace, tmp_path: Path) -> None:
    file = tmp_path / "long.csv"
    with file.open("wb") as written:
        written.truncate(10**9)
    with pytest.raises(NotUnderstood, match="larger than 10 MB"):
        take_table(place, file)


def test_restorations_go_out_and_come_in_with_the_chain(place: Workplace, tmp_path: Path) -> None:
    file = tmp_path / "week.csv"
    file.write_text(HEAD + "2026-02-23,2026-02-27,r1,3,,2,1,Day book\n", "utf-8")
    (taken,) = take_table(place, file).rows
    with place.reading() as reader:
        lines = list(export_lines(reader.entries()))

    with Ledger.open(str(tmp_path / "other.db"), create=True) as other:
        import_chain(other, lines)
        with other.reading(place.site) as reader:
            assert reader.get_entry(taken.seq) == taken.entry
        assert verify(other.engine, place.site).holds
