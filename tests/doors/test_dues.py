"""What `due`, `status` and `remind --show` say of a rule that was changed nearby, and of what has no day."""

from __future__ import annotations

import pytest

from tests.doors.conftest import Office
from wasteledger import settings
from wasteledger.resources import find

# A rule read from nobody's lips but a telephone's: ten business days become five.
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
provision = "US-441-03"
reason = "The town wants it within a week."
citation = "Letter of the town"
confirmed = false
confirmed_note = "Told by telephone."
due = { business_days = 5 }
[[override]]
ordinance = "us-federal-dental"
provision = "US-441-05"
reason = "The town reads it so."
citation = "Marsh Town 7"
confirmed = true
asks = "The unit is replaced as its manual says."
"""


@pytest.fixture
def marsh_town(bare_office: Office, monkeypatch: pytest.MonkeyPatch) -> Office:
    """The starter plan's practice where the town changed two federal rules, with a malfunction found."""
    own = bare_office.folder / "own"
    (own / "ordinances").mkdir(parents=True)
    (own / "ordinances" / "marsh-town.toml").write_text(A_CHANGE, "utf-8")
    monkeypatch.setenv(settings.TEMPLATES, str(own))
    named = 'ordinances = ["us-federal-dental", "office-conventions"]'
    plan = find("practice/starter.toml").read_text("utf-8")
    path = bare_office.folder / "plan.toml"
    path.write_text(plan.replace(named, named[:-1] + ', "marsh-town"]'), "utf-8")
    bare_office.did("setup", str(path))
    bare_office.watch.wait(hours=1)
    bare_office.did("separator", "inspect", "SEP", "--result", "malfunction")
    return bare_office


def test_status_says_that_a_pressing_rule_was_changed_and_how_sure_that_is(marsh_town: Office) -> None:
    said = marsh_town.run("status").said.splitlines()
    (place,) = (number for number, line in enumerate(said) if "9 Mar 2026: Repair or replace a separator" in line)

    assert said[place + 1] == (
        "    Changed by Marsh Town code, Letter of the town; NOT CONFIRMED, not read at its source."
    )


def test_due_and_the_digest_and_the_calendar_say_so_too(marsh_town: Office) -> None:
    changed = (
        "Changed by Marsh Town code (Letter of the town): The town wants it within a week. "
        "NOT CONFIRMED: Told by telephone."
    )
    marsh_town.run("due", "--ics", "due.ics")
    calendar = (marsh_town.folder / "due.ics").read_text("utf-8").replace("\n ", "").replace("\r", "")

    assert f"    {changed}\n" in marsh_town.run("due").said
    assert changed in " ".join(marsh_town.did("remind", "--show").said.split())
    assert changed in calendar.replace("\n ", "")


def test_what_lacks_an_interval_names_its_rule_everywhere(marsh_town: Office) -> None:
    """40 CFR 441.30(a)(1)(vi): the manual's interval, which nobody entered."""
    due, status = marsh_town.run("due").said, marsh_town.run("status").said
    digest = " ".join(marsh_town.did("remind", "--show").said.split())

    for said in (due, digest):
        assert "40 CFR 441.30(a)(1)(vi)" in said
        assert "Changed by Marsh Town code (Marsh Town 7): The town reads it so." in said
    assert "    Changed by Marsh Town code, Marsh Town 7.\n" in status
    (gap,) = (line for line in status.splitlines() if "interval is not entered" in line and "retaining unit" in line)
    assert gap.endswith(")")
    assert "US federal dental office rule (40 CFR Part 441)" in gap


def test_terms_are_gathered_in_words_and_complete_in_json(office: Office) -> None:
    """40 CFR 441.50(b): three years at least."""
    for _ in range(3):
        office.did("separator", "inspect", "SEP", "--result", "in-order")
        office.watch.wait(days=7)
    said = office.run("due", "--retention").said
    as_json = office.run("due", "--retention", "--json").json()

    assert said.count("(separator inspection)") == 1
    assert "  keep 2 Mar 2029 to 16 Mar 2029: " in said
    terms = [one for one in as_json["obligations"] if one["record"] == "separator_inspection"]
    assert [one["due_on"] for one in terms] == ["2029-03-02", "2029-03-09", "2029-03-16"]


def test_what_is_kept_without_a_day_names_rule_clause_doubt_and_entry(office: Office) -> None:
    filed = office.did("milestone", "one_time_report_filed").seq
    lines = office.run("due", "--retention").said.splitlines()
    (place,) = (number for number, line in enumerate(lines) if "no day: Keep the one-time report" in line)

    assert "40 CFR 441.50(a)(5)" in lines[place + 1]
    assert lines[place + 2] == f"    Record of 2 Mar 2026, entry {filed}."
