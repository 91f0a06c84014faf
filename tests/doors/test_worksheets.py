"""Worksheets through the command line: words within eighty columns, JSON, and what is refused."""

from __future__ import annotations

import pytest

from tests.doors.conftest import Office
from wasteledger import settings
from wasteledger.resources import find

SHEETS = (("one-time-report",), ("amounts", "--year", "2026"), ("certification", "US-441-01"), ("shipment", "P-1"))


@pytest.fixture
def booked(office: Office) -> Office:
    """The office with one swapped trap in T-1, which is booked for pickup P-1."""
    trap = office.did("register", "show", "trap", "--json").json()["lines"][0]["ref"]
    office.did("swap", trap, "--condition", "clogged", "--into", "T-1")
    carrier, facility = (
        office.did("register", "show", what, "--json").json()["lines"][0]["ref"] for what in ("carrier", "facility")
    )
    parties = ("--carrier", carrier, "--facility", facility)
    office.did("pickup", "book", "P-1", "T-1", *parties, "--on", "2026-03-09")
    return office


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet[0])
def test_every_worksheet_says_what_it_is_and_fits_a_page(booked: Office, sheet: tuple[str, ...]) -> None:
    said = booked.did("worksheet", *sheet).said

    lines = said.splitlines()
    assert lines[0].startswith("Worksheet for your own filing: ")
    assert max(map(len, lines)) <= 80
    assert "local authority decides" in " ".join(said.split())
    assert "compliant" not in said.lower()


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet[0])
def test_every_worksheet_has_its_json(booked: Office, sheet: tuple[str, ...]) -> None:
    found = booked.did("worksheet", *sheet, "--json").json()

    assert found["heading"] == "Worksheet for your own filing"
    assert found["kind"] == sheet[0]
    assert found["gaps"] == [one["name"] for one in found["lines"] if one["answer"]["state"] == "gap"]
    assert all(one["asks"].endswith("?") and one["answer"]["says"] for one in found["lines"])


def test_gaps_carry_a_mark_and_answers_their_entry(booked: Office) -> None:
    lines = booked.did("worksheet", "one-time-report").said.splitlines()

    assert "! Who owns it?" in lines
    owner = lines[lines.index("! Who owns it?") + 1]
    assert owner.startswith("    Not entered in the site's line of the register (owner).")
    assert "  What is the practice called?" in lines
    assert lines[lines.index("  What is the practice called?") + 1] == "    Your practice (entry 1)"
    assert "? Is each separator built, run and maintained as the rule asks?" in lines
    # One rule asks for all of it, so it is named once, above.
    assert sum("US-441-REPORT" in line for line in lines) == 1


def test_an_estimate_is_said_as_one(booked: Office) -> None:
    made = booked.did("worksheet", "amounts", "--year", "2026", "--json").json()
    amounts = next(one for one in made["lines"] if one["name"] == "amalgam_made_mg")["answer"]["amounts"]
    whole = next(one for one in amounts if one["name"] == "made")

    assert whole["amount"]["basis"] == "estimate"
    assert whole["amount"]["weighed_mg"] == 0
    assert "estimate" in whole["says"]
    assert whole["amount"]["lower_mg"] < whole["amount"]["value_mg"] < whole["amount"]["upper_mg"]
    said = booked.did("worksheet", "shipment", "P-1").said
    assert "from an estimate:" in said
    assert "A draft" in said


def test_the_days_and_the_periods_are_said(booked: Office) -> None:
    booked.did("milestone", "first_discharge")

    said = booked.did("worksheet", "certification", "US-441-01", "--from", "2026-03-01", "--to", "2026-03-31").said

    assert "For 1 Mar 2026 to 2 Mar 2026" in said
    # 40 CFR 441.50(a)(1)(ii): 90 days from 2 March 2026 are 31 May 2026, a Sunday.
    assert "to 31 May 2026 (last working day 29 May 2026)" in " ".join(said.split())


A_CHANGE = """\
schema = 1
[ordinance]
id = "marsh-town"
title = "Marsh Town code"
authority = "Marsh Town"
level = "local"
version = "1"
dated_on = 2026-01-01
source = "Invented for a test"
[[override]]
ordinance = "us-federal-dental"
provision = "US-441-01"
reason = "The town wants it within a month."
citation = "Letter of the town"
confirmed = false
confirmed_note = "Told by telephone."
due = { days = 30 }
"""


def test_a_nearer_word_stands_with_the_rule_and_with_its_day(
    bare_office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = bare_office.folder / "own"
    (own / "ordinances").mkdir(parents=True)
    (own / "ordinances" / "marsh-town.toml").write_text(A_CHANGE, "utf-8")
    monkeypatch.setenv(settings.TEMPLATES, str(own))
    named = 'ordinances = ["us-federal-dental", "office-conventions"]'
    path = bare_office.folder / "plan.toml"
    path.write_text(
        find("practice/starter.toml").read_text("utf-8").replace(named, named[:-1] + ', "marsh-town"]'), "utf-8"
    )
    bare_office.did("setup", str(path))
    bare_office.watch.wait(hours=1)
    bare_office.did("milestone", "first_discharge")

    said = " ".join(bare_office.did("worksheet", "certification", "US-441-01").said.split())

    changed = (
        "Changed by Marsh Town code (Letter of the town): The town wants it within a month. "
        "NOT CONFIRMED: Told by telephone."
    )
    # Thirty days from 2 March 2026.
    assert "to 1 Apr 2026" in said
    assert said.count(changed) == 2


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (("amounts",), 2, "--year"),
        (("amounts", "--year", "2031"), 2, "has not begun"),
        (("amounts", "--year", "soon"), 2, "valid integer"),
        (("amounts", "--year", "1850"), 2, "too far away"),
        (("certification",), 2, "RULE"),
        (("certification", "no-such"), 3, "No ordinance in force has a filing"),
        (("certification", "US-441-06"), 3, "asks for nothing that is sent"),
        (("certification", "US-441-01", "--from", "yesteryear"), 2, "is not a day"),
        (("certification", "US-441-01", "--from", "2026-03-02", "--to", "2026-03-01"), 2, "no period"),
        (("shipment", "P-9"), 3, "P-9"),
    ],
)
def test_what_cannot_be_made_is_refused(office: Office, arguments: tuple[str, ...], status: int, words: str) -> None:
    done = office.run("worksheet", *arguments)

    assert done.status == status
    assert words in done.complained
    assert not done.said
