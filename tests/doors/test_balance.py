"""Restorations and the second opinion through the command line."""

from __future__ import annotations

import pytest

from tests.doors.conftest import Office


def test_restorations_of_today_and_of_a_week(office: Office) -> None:
    today = office.did(
        "procedures", "--removed", "1:3, 2:5,4+:1", "--placed", "2", "--room", "room1", "--note", "half a day"
    )
    assert today.said == (
        f"Entry {today.seq}: Amalgam restorations of 2026-03-02, room room1: removed 9 (3 with 1 surface, 5 with 2 "
        "surfaces, 1 with 4 or more surfaces), placed 2 (2 with surfaces not noted).\n"
    )
    office.watch.wait(days=4)
    week = office.did("procedures", "--from", "2026-03-03", "--to", "today", "--removed", "0", "--json").json()
    assert week["entry"]["kind"] == "procedures"
    assert week["entry"]["body"]["first_on"] == "2026-03-03"
    assert week["entry"]["body"]["removed"]["unknown"] == 0

    told = office.did("history", "--kind", "procedures").said
    assert "removed none, placed none." in told
    assert "Note: half a day" in told


def test_a_day_that_is_counted_is_refused(office: Office) -> None:
    first = office.did("procedures", "--to", "2026-03-02", "--removed", "4:1")

    again = office.run("procedures", "--removed", "4:1")

    assert again.status == 3
    assert f"Entry {first.seq} holds the restorations of 2026-03-02 already." in again.complained
    assert f"correct entry {first.seq}" in again.complained


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "Nothing was counted."),
        (("--removed", "5:1"), "does not say how many of how many surfaces"),
        (("--removed", "1:3,1:2"), "does not say"),
        (("--removed", "1:3,"), "does not say"),
        (("--removed", "many"), "does not say"),
        (("--removed", ""), "does not say"),
        (("--placed", "1:-1"), "does not say"),
        (("--placed", "1:100000"), "does not say"),
        (("--removed", "1", "--from", "yesteryear"), "is not a day"),
        (("--removed", "1", "--from", "2026-03-02", "--to", "2026-03-01"), "the last day lies before the first"),
        (("week.csv", "--removed", "1"), "not both"),
    ],
)
def test_what_cannot_be_understood(office: Office, arguments: tuple[str, ...], words: str) -> None:
    done = office.run("procedures", *arguments)

    assert done.status == 2
    assert words in done.complained


def test_a_table_is_taken_whole(office: Office) -> None:
    table = office.folder / "week.csv"
    table.write_text("from,removed_1,removed_2,placed_2\n2026-03-01,0,,\n2026-03-02,3,1,2\n", "utf-8")

    first, again = office.did("procedures", str(table)), office.did("procedures", str(table), "--json")

    assert first.said.endswith("2 of 2 rows of week.csv written: 4 removed, 2 placed.\n")
    assert first.said.startswith("Entries ")
    assert [row["repeated"] for row in again.json()["rows"]] == [True, True]
    table.write_text("from,removed_1\n2026-03-02,3\n2026-02-30,x\n", "utf-8")
    refused = office.run("procedures", str(table))
    assert refused.status == 2
    assert "week.csv: 3 faults; nothing was written." in refused.complained
    assert "week.csv line 3, column removed_1" in refused.complained
    assert office.run("procedures", "nowhere.csv").status == 4
