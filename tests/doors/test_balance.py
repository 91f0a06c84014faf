"""Restorations and the second opinion through the command line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from tests.doors.conftest import Office
from wasteledger.cli.balance import say_opinion
from wasteledger.estimate.balance import Balance, StageLine
from wasteledger.estimate.capture import Stage
from wasteledger.estimate.rhythm import Rhythm
from wasteledger.estimate.weighed import Weighings
from wasteledger.model.findings import Finding, Weight
from wasteledger.office.second_opinion import SecondOpinion


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


# -- the second opinion ----------------------------------------------------------------------------------------------


def an_opinion(**changes: Any) -> SecondOpinion:
    """A year in which the chairside traps hold too little, with everything that can be said of it."""
    stages = (
        StageLine(Stage.CHAIRSIDE, 255_731, 77_312, 40_120, 20_333, -3.12, 88_000, 21_900, 0.98),
        StageLine(Stage.LINE_FILTER, 58_800, 31_000, 88_000, 60_000, 0.51, 61_000, 27_500, 1.0),
        StageLine(Stage.PUMP, 1_058_800, 996_000, None, None, None, 1_061_000, 927_500, 0.0),
        StageLine(Stage.SEPARATOR, 12_158_800, 1_047_000, 22_161_000, 927_500, 2.66, 12_222_000, 927_500, 0.4),
    )
    said: dict[str, Any] = {
        "first_on": date(2025, 3, 3),
        "last_on": date(2026, 3, 2),
        "stages": stages,
        "entering_mg": 512_345.0,
        "entering_u_mg": 40_321.0,
        "escaped_mg": 14_400.0,
        "procedures_share": 0.976,
        "chi_square": 14.2,
        "degrees_of_freedom": 3,
        "p": 0.00265,
        "suspect": "stage:chairside",
        "rhythm": Rhythm({}, 812, (), None),
        "weighings": Weighings(),
        "findings": (),
        "remarks": (),
    }
    long = (
        "The traps hold less than the restorations should have left in them, and the filter behind them no more. " * 2
    )
    return SecondOpinion(
        Balance(**said | changes),
        removed=1234,
        placed=56,
        findings=(
            Finding("stage", "chairside traps", long.strip(), "Ask who emptied them."),
            Finding("counted-twice", "entries 7 and 9", "Both hold the same days.", weight=Weight.NOTE),
        ),
        remarks=("No level was read.",),
    )


def test_the_table_is_read_on_eighty_columns(capsys: pytest.CaptureFixture[str]) -> None:
    say_opinion(an_opinion())

    lines = capsys.readouterr().out.splitlines()
    assert max(len(line) for line in lines) <= 80
    assert lines[:9] == [
        "3 Mar 2025 to 2 Mar 2026",
        "Restorations entered: 1234 removed, 56 placed, for 98 % of the working days.",
        "Amalgam that they sent into the suction: 512 ± 41 g, estimate; 14 g of it past",
        "all stages.",
        "stage, amalgam g    expected      in the traps  z     best of both",
        "chairside traps     256 ± 78      40 ± 21       −3.1  88 ± 22       see below",
        "vacuum-line filter  59 ± 31       88 ± 60       +0.5  61 ± 28",
        "central-pump trap   1100 ± 1000   –             –     1060 ± 930",
        "separator unit      12200 ± 1100  22160 ± 930   +2.7  12220 ± 930",
    ]
    said = " ".join(lines[9:])
    assert "z, in standard deviations, is reckoned on the logarithms, so it does not follow from the" in said
    assert "so far apart in 0.3 % of cases" in said
    assert "812 gaps between swaps judged; 0 weighings compared" in said
    assert "! chairside traps: The traps hold less" in said
    assert "Ask who emptied them." in " ".join(said.split())
    assert "  entries 7 and 9: Both hold the same days." in said
    assert "  No level was read." in said
    assert lines[-1] == "A finding asks a question; it proves nothing."


def test_what_was_not_compared_has_no_figures(capsys: pytest.CaptureFixture[str]) -> None:
    bare = an_opinion(
        stages=(), entering_mg=None, entering_u_mg=None, escaped_mg=None, procedures_share=0.0, chi_square=None, p=None
    )
    say_opinion(replace(bare, removed=0, placed=0, findings=()))

    assert capsys.readouterr().out.splitlines() == [
        "3 Mar 2025 to 2 Mar 2026",
        "812 gaps between swaps judged; 0 weighings compared with the counts.",
        "Nothing disagrees.",
        "  No level was read.",
    ]


def test_nothing_compared_is_not_said_to_agree(capsys: pytest.CaptureFixture[str]) -> None:
    bare = an_opinion(stages=(), rhythm=Rhythm({}, 0, (), None), chi_square=None, p=None)
    say_opinion(replace(bare, findings=()))

    said = capsys.readouterr().out.splitlines()
    assert "0 gaps between swaps judged; 0 weighings compared with the counts." in said
    assert "Nothing was compared." in said
    assert "Nothing disagrees." not in said


@pytest.mark.parametrize(("entering_mg", "is_told"), [(512_000.0, True), (99_000_000.0, False)])
def test_more_expected_than_was_sent_in_is_explained(
    capsys: pytest.CaptureFixture[str], entering_mg: float, is_told: bool
) -> None:
    say_opinion(an_opinion(entering_mg=entering_mg))

    said = " ".join(capsys.readouterr().out.split())
    assert ("in the period, which may reach before it: so it can add up to more than was sent in." in said) is is_told


def test_a_new_practice_has_nothing_to_compare_yet(office: Office) -> None:
    done = office.did("balance")

    assert done.said.startswith("2 Mar 2026 to 2 Mar 2026\n")
    assert "Nothing disagrees." in done.said
    assert "No procedures were entered for this period" in done.said
    assert office.run("balance", "--to", "tomorrow").status == 2
    assert office.run("balance", "--from", "2026-03-03").status == 2


def test_what_does_not_agree_ends_with_status_one_and_is_told_by_status(office: Office) -> None:
    office.watch.wait(days=200)

    words, told = office.run("balance"), office.run("balance", "--json")

    assert (words.status, told.status) == (1, 1)
    assert max(len(line) for line in words.said.splitlines()) <= 80
    assert words.said.endswith("A finding asks a question; it proves nothing.\n")
    found = told.json()
    assert found["wants_attention"] is True
    assert found["rhythm"]["long_gaps"]
    assert "See wasteledger balance." in office.run("status").said
    # Before anything was late there was nothing to find.
    assert office.run("balance", "--to", "2026-03-09").status == 0
