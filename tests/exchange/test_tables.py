"""The table that an office opens in its spreadsheet."""

from __future__ import annotations

import csv
import io
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    MONDAY_MORNING,
    ZONE,
    Clinic,
    a_deposit,
    a_line_cleaning,
    a_look,
    a_reading,
    a_receipt,
    a_swap,
    a_unit_replacement,
    one_of_each,
    some_procedures,
)
from tests.model.histories import an_entry
from wasteledger.exchange.tables import COLUMNS, csv_lines, row_of
from wasteledger.model.facts import Entry
from wasteledger.model.values import Body

CHICAGO = ZoneInfo(ZONE)


def read_back(entries: list[Entry]) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO("".join(csv_lines(entries, CHICAGO)), newline="")))


def cells(body: Body) -> dict[str, str]:
    """The filled cells that come from the body alone."""
    always = {"site", "seq", "version", "recorded_by", "door", "key", "previous", "digest", "body"}
    row = row_of(an_entry(7, body), CHICAGO)
    return {name: cell for name, cell in row.items() if cell and name not in always and "_at_" not in name}


def test_the_columns_are_these_and_stay_in_this_order() -> None:
    assert ",".join(COLUMNS) == (
        "site,seq,kind,version,happened_at_utc,happened_at_local,recorded_at_utc,recorded_at_local,recorded_by,door,"
        "trap,trap_kind,condition,container,pickup,separator,room,stream,count,gross_mg,tare_mg,mass_mg,received_mg,"
        "volume_ml,level_permille,corrects,action,reason,note,key,previous,digest,body,first_on,last_on,removed,placed"
    )


def test_every_entry_is_a_row(lived_in: Clinic) -> None:
    entries = lived_in.entries()

    rows = read_back(entries)

    assert [(int(row["seq"]), row["kind"], row["digest"]) for row in rows] == [
        (one.seq, one.kind, one.digest) for one in entries
    ]
    assert all(list(row) == list(COLUMNS) for row in rows)


def test_times_stand_in_utc_and_as_the_clock_on_the_wall_showed() -> None:
    winter = row_of(an_entry(1, a_look(), MONDAY_MORNING), CHICAGO)
    summer = row_of(an_entry(1, a_look(), MONDAY_MORNING.replace(month=7)), CHICAGO)

    assert winter["happened_at_utc"] == "2026-03-02T14:00:00.000000Z"
    assert winter["happened_at_local"] == "2026-03-02 08:00:00-06:00"
    assert summer["happened_at_local"] == "2026-07-02 09:00:00-05:00"


@pytest.mark.parametrize(
    ("body", "filled"),
    [
        (
            a_swap(gross=a_reading(34_200), tare=a_reading(5_000)),
            {
                "kind": "swap",
                "trap": "1-HV",
                "trap_kind": "high_volume",
                "condition": "clogged",
                "container": "C-1",
                "stream": "traps",
                "gross_mg": "34200",
                "tare_mg": "5000",
            },
        ),
        (
            a_deposit(mass=a_reading(1_200), volume_ml=3, room="r1"),
            {
                "kind": "deposit",
                "container": "C-1",
                "stream": "scrap",
                "count": "3",
                "mass_mg": "1200",
                "volume_ml": "3",
                "room": "r1",
            },
        ),
        (a_line_cleaning(), {"kind": "line_cleaning", "room": "r1 r2", "volume_ml": "3785"}),
        (a_receipt(total_mg=51_000), {"kind": "receipt", "pickup": "P-1", "received_mg": "51000"}),
        (
            some_procedures(room="r1"),
            {
                "kind": "procedures",
                "room": "r1",
                "first_on": "2026-02-23",
                "last_on": "2026-02-27",
                "removed": "8",
                "placed": "2",
            },
        ),
        (
            a_unit_replacement(),
            {"kind": "unit_replaced", "separator": "SEP", "container": "C-1", "stream": "scrap"},
        ),
    ],
    ids=lambda one: getattr(one, "KIND", ""),
)
def test_what_an_entry_says_stands_in_its_columns(body: Body, filled: dict[str, str]) -> None:
    assert cells(body) == filled


@pytest.mark.parametrize("body", one_of_each().values(), ids=one_of_each())
def test_every_kind_has_a_row(body: Body) -> None:
    (row,) = read_back([an_entry(1, body)])

    assert row["kind"] == body.KIND
    assert row["body"].startswith("{")


def test_an_estimate_is_never_in_a_mass_column() -> None:
    """Only what stood on a scale or on a receipt does."""
    release = one_of_each()["pickup_released"]

    assert not [name for name in cells(release) if name.endswith("_mg")]


@pytest.mark.parametrize(
    "text", ["=HYPERLINK(0)", "+1 555 0100", "-", "@sum", "'quoted'", "''", "plain", "1-HV", "né", 'said "no", twice']
)
def test_no_cell_is_taken_for_a_formula_and_every_text_comes_back(text: str) -> None:
    (row,) = read_back([an_entry(1, a_look(note=text))])

    assert not row["note"].startswith(("=", "+", "-", "@"))
    assert row["note"].removeprefix("'" if text.startswith(("=", "+", "-", "@", "'")) else "") == text


def test_lines_inside_a_cell_do_not_break_the_table() -> None:
    (row,) = read_back([an_entry(1, a_look(note="one\ntwo"))])

    assert row["note"] == "one\ntwo"


def test_lines_end_as_rfc_4180_says() -> None:
    """RFC 4180, section 2, rule 1: each record is on a line of its own, delimited by CRLF."""
    lines = list(csv_lines([an_entry(1, a_look()), an_entry(2, a_swap())], CHICAGO))

    assert len(lines) == 3
    assert all(line.endswith("\r\n") for line in lines)
