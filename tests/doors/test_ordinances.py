"""The rules through the command line: listed, shown, checked, explained, and recorded as done."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests.doors.conftest import Office
from tests.office.rule_files import put_in_force
from wasteledger.errors import ExitStatus
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import read_ordinance
from wasteledger.resources import find

DECIDES = "This restates what each named rule asks. The local authority decides.\n"

BROKEN = """\
schema = 1

[ordinance]
id = "marsh town"
title = "Marsh Town code"
authority = "Marsh Town"
level = "locale"
version = "1"
dated_on = "last year"
source = "Invented for a test"
colour = "green"

[[rule]]
id = "M-1"
duty = "ship-contianer"
kind = "deadline"
title = "Ship"
asks = "A container is shipped."
trigger = "container_first_waste"
due = { days = 90, weeks = 3 }
citation = "Marsh Town 1"
source = "Invented for a test"
read_on = "2026-13"
confirmed = false

[[cleaner]]
id = "M-1"
title = "Cleaners"
asks = "Cleaners are mild."
ph_low = 9.0
ph_high = 6.0
citation = "Marsh Town 2"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""

# Each fault with the line that it stands on, counted by hand in the text above.
FAULTS = {
    (4, "ordinance.id"),
    (7, "ordinance.level"),
    (9, "ordinance.dated_on"),
    (11, "ordinance.colour"),
    (13, "rule[1].confirmed_note"),
    (15, "rule[1].duty"),
    (20, "rule[1].due.weeks"),
    (23, "rule[1].read_on"),
    (27, "cleaner[1].id"),
    (31, "cleaner[1].ph_high"),
}


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """A file with ten faults."""
    path = tmp_path / "marsh.toml"
    path.write_text(BROKEN, "utf-8")
    return path


@pytest.fixture
def in_massachusetts(bare_office: Office) -> Office:
    """The starter plan's practice, with the rules of Massachusetts and of generators in force besides."""
    plan = find("practice/starter.toml").read_text("utf-8")
    named = 'ordinances = ["us-federal-dental", "office-conventions"]'
    assert named in plan
    path = bare_office.folder / "plan.toml"
    path.write_text(plan.replace(named, named[:-1] + ', "us-massachusetts"]'), "utf-8")
    bare_office.did("setup", str(path))
    bare_office.watch.wait(hours=1)
    return bare_office


def test_a_broken_file_gives_every_fault_with_its_line(bare_office: Office, broken: Path) -> None:
    words = bare_office.run("ordinance", "check", str(broken))
    as_json = bare_office.run("ordinance", "check", str(broken), "--json")

    assert words.status == as_json.status == ExitStatus.NOT_UNDERSTOOD
    assert {(fault["line"], fault["key"]) for fault in as_json.json()["faults"]} == FAULTS
    for line, key in FAULTS:
        assert f"! marsh.toml line {line}, {key}: " in words.said
    assert "“ship-contianer” is not known, so no other rule would be held against it." in words.said
    assert "10 faults; as they are, the files cannot be put in force.\n" in words.said
    assert words.said.endswith(DECIDES)
    assert words.complained == ""


def test_a_file_that_is_not_there_and_one_that_is_no_toml(bare_office: Office, tmp_path: Path) -> None:
    torn = tmp_path / "torn.toml"
    torn.write_text('schema = 1\n[ordinance]\nid = "torn\n', "utf-8")

    found = bare_office.run("ordinance", "check", str(torn), str(tmp_path / "gone.toml"))

    assert found.status == ExitStatus.NOT_UNDERSTOOD
    assert "! torn.toml line 3: This is not TOML" in found.said
    assert "! gone.toml: It cannot be opened" in found.said


def test_every_shipped_file_holds_and_the_starter_with_them(bare_office: Office) -> None:
    files = sorted(find("ordinances/local-starter.toml").parent.glob("*.toml"))

    found = bare_office.did("ordinance", "check", *map(str, files))

    # On the office's day, in March 2026, they have not been read yet: a remark for each, and no fault.
    remarks = sum(line.startswith("! ") for line in found.said.splitlines())
    assert f"No fault; {remarks} remarks above.\n" in found.said
    bare_office.watch.now = datetime(2026, 12, 1, 12, 0, tzinfo=bare_office.watch.now.tzinfo)
    assert "No fault.\n" in bare_office.did("ordinance", "check", *map(str, files)).said
    for file in files:
        assert f"{file.name}: " in found.said


def test_a_file_is_tried_with_what_is_in_force_here(office: Office, tmp_path: Path) -> None:
    file = tmp_path / "marsh.toml"
    text = find("ordinances/local-starter.toml").read_text("utf-8").replace('id = "local"', 'id = "marsh-town"')
    change = (
        '\n[[override]]\nordinance = "us-federal-dental"\nprovision = "US-441-06"\nreason = "Ours."\n'
        'citation = "Marsh Town 3"\nconfirmed = false\nconfirmed_note = "Heard."\nset_aside = true\n'
    )
    file.write_text(text + change, "utf-8")

    here = office.did("ordinance", "check", str(file), "--here")
    alone = office.did("ordinance", "check", str(file))

    assert "Tried together with: office-conventions, us-federal-dental.\n" in here.said
    assert "Tried together with: us-federal-dental.\n" in alone.said
    assert "Changes of other ordinances that are not confirmed: us-federal-dental:US-441-06." in here.said


def test_the_list_works_with_a_ledger_and_without_one(bare_office: Office, office: Office) -> None:
    there = office.did("ordinance", "list")
    assert there.said.startswith("In force here:\n  us-federal-dental: US federal dental office rule")
    federal = read_ordinance(find("ordinances/us-federal-dental.toml"))
    assert (
        f"    {len(federal.provisions)} provisions, {len(federal.rules)} of them with a day or a term, " in there.said
    )
    assert there.said.endswith(DECIDES)
    lines = there.said.split("On file:\n")
    assert "us-massachusetts" in lines[1]
    assert "us-federal-dental:" not in lines[1]

    office.ledger.unlink()
    without = bare_office.did("ordinance", "list")
    as_json = bare_office.did("ordinance", "list", "--json").json()

    assert without.said.startswith("No ledger here, so nothing is in force yet.\nOn file:\n")
    assert as_json["site"] is None
    assert not any(one["in_force"] for one in as_json["ordinances"])
    assert as_json["decides"] == DECIDES.strip()
    assert not bare_office.ledger.exists()
    named = bare_office.run("ordinance", "list", "--ledger", str(bare_office.folder / "gone.db"))
    assert named.status == ExitStatus.STORE_NOT_REACHABLE


def test_an_ordinance_is_shown_with_its_clauses_and_doubts(office: Office) -> None:
    shown = office.did("ordinance", "show", "us-federal-dental")

    assert shown.said.startswith("us-federal-dental: US federal dental office rule (40 CFR Part 441) (in force here")
    assert "US-441-03 (deadline): Repair or replace a separator that does not work\n" in shown.said
    assert "  Due 10 business days after the day the malfunction was found." in shown.said
    assert "  says so: 40 CFR 441.30(a)(1)(v)\n" in shown.said
    assert "\n! NOT CONFIRMED: " in shown.said
    assert shown.said.endswith(DECIDES)
    for provision in office.did("ordinance", "show", "us-federal-dental", "--json").json()["provisions"]:
        assert f"\n{provision['id']} (" in shown.said
        assert provision["citation"] in shown.said
        assert provision["standing_of_source"] in shown.said

    elsewhere = office.did("ordinance", "show", "eu-2017-852", "--on", "2026-07-01")
    assert "(not in force here)" in elsewhere.said
    assert "Does not stand on 1 Jul 2026: " in elsewhere.said
    nowhere = office.run("ordinance", "show", "us-atlantis")
    assert nowhere.status == ExitStatus.REFUSED
    assert nowhere.complained.startswith("There is no ordinance “us-atlantis”.\nThere are: ")


def test_a_rule_is_explained_from_its_words_to_its_entries(office: Office) -> None:
    found = office.did("separator", "inspect", "--result", "malfunction").seq

    told = office.did("ordinance", "explain", "US-441-03")

    # 40 CFR 441.30(a)(1)(v): ten business days from Monday 2 March 2026.
    assert (
        "separator SEP: 16 Mar 2026 (due soon); 10 business days from the day the malfunction was found, " in told.said
    )
    assert f", entry {found}\n" in told.said
    assert "! NOT CONFIRMED: " in told.said
    assert told.said.endswith(DECIDES)
    (rule,) = office.did("ordinance", "explain", "US-441-03", "--json").json()["found"]
    (clock,) = rule["clocks"]
    assert (clock["due_on"], clock["trigger_seq"], clock["state"]) == ("2026-03-16", found, "due_soon")

    lacking = office.did("ordinance", "explain", "US-441-06").said
    assert f"! Inspections that found something and name no follow-up: 1 (entry {found}).\n" in lacking


def test_another_number_finds_its_rule(office: Office) -> None:
    """81 FR 85732 moved 40 CFR 261.5(g)(3); forms of local authorities still print it."""
    told = office.did("ordinance", "explain", "40 CFR 261.5(g)(3)").said

    assert told.startswith("This clause, 40 CFR 262.14(a)")
    assert "is also cited as “40 CFR 261.5(g)(3)”.\n" in told
    nothing = office.run("ordinance", "explain", "40 CFR 999.99")
    assert nothing.status == ExitStatus.REFUSED
    assert "No ordinance, in force or on file, has a rule “40 CFR 999.99” or cites it." in nothing.complained


def test_what_was_looked_for_is_said_where_nothing_is_missing(office: Office) -> None:
    idle = office.did("ordinance", "explain", "US-441-03").said
    lacking = office.did("ordinance", "explain", "US-441-SIZE").said
    words = office.did("ordinance", "explain", "OFFICE-FILL").said

    assert "Missing: nothing of what was looked for: days that have passed; repairs without make and model.\n" in idle
    assert "Missing:\n! There is no statement (sized for peak flow) on record." in lacking
    assert "Missing: nothing was looked for; it names nothing that the journal could lack.\n" in words


def test_another_rules_day_is_shown_with_its_doubt_and_told_apart_from_a_sooner_one(office: Office) -> None:
    office.did("separator", "inspect", "--result", "malfunction")
    rule = (
        '[[rule]]\nid = "{}"\nduty = "repair-separator"\nkind = "deadline"\ntitle = "Repair"\nasks = "It asks."\n'
        'trigger = "malfunction_found"\ndue = {{ business_days = {} }}\ncitation = "Marsh Town {}"\n'
        'source = "Invented for a test"\nread_on = "2026-11"\nconfirmed = {}\n'
    )
    head = 'schema = 1\n[ordinance]\nid = "marsh-town"\ntitle = "Marsh Town code"\nauthority = "Marsh Town"\n'
    head += 'level = "local"\nversion = "1"\ndated_on = 2025-01-01\nsource = "Invented for a test"\n'
    unread = rule.format("M-3", 5, 3, 'false\nconfirmed_note = "Heard."')
    text = head + rule.format("M-1", 10, 1, "true") + rule.format("M-2", 10, 2, "true")
    with Workplace.open(str(office.ledger), by="max") as place:
        put_in_force(place, "marsh-town", text)
        same = office.did("ordinance", "explain", "M-2").said
        put_in_force(place, "marsh-town", text + unread)
    sooner = office.did("ordinance", "explain", "M-2").said

    assert "    another rule asks the same by the same day\n" in same
    assert "    another rule comes sooner for the same\n" in sooner
    assert "    also 9 Mar 2026: Marsh Town code, Marsh Town 3, NOT CONFIRMED\n" in sooner
    assert "    also 16 Mar 2026: Marsh Town code, Marsh Town 1\n" in sooner


def test_a_rule_is_explained_from_its_file_where_there_is_no_ledger(bare_office: Office) -> None:
    told = bare_office.did("ordinance", "explain", "MA-02").said

    assert "Due on 31 Mar in even years.\n" in told
    assert "! Not in force here. To put it in force, name us-massachusetts among the plan's ordinances.\n" in told


def test_what_was_done_is_written_and_its_clock_goes_on(in_massachusetts: Office) -> None:
    """Massachusetts renews by 31 March of even years (310 CMR 73.00): after 2026 comes 2028."""
    office = in_massachusetts
    assert "31 Mar 2026" in office.run("due").said

    done = office.did("done", "MA-02", "--document", "Receipt 17", "--done-by", "Robin")

    assert ": Certification of even years (MA-02 of Massachusetts dental facility rules" in done.said
    assert "recorded as done, due 31 Mar 2026.\n" in done.said
    assert "  Next: 31 Mar 2028 (" in done.said
    assert done.said.endswith("  " + DECIDES)
    assert "31 Mar 2026" not in office.run("due").said
    explained = office.did("ordinance", "explain", "MA-02").said
    assert "site: 31 Mar 2028 (later); by 31 March of even years" in explained
    assert f"(entry {done.seq}).\n" in explained
    history = office.did("history", "--kind", "duty_done").said
    assert "Receipt 17" in history


def test_what_is_done_in_another_way_is_refused_with_the_command(office: Office) -> None:
    for rule, hint in (
        ("US-441-06", "Write it with wasteledger separator inspect;"),
        ("US-441-07", "wasteledger due --retention"),
        ("US-441-STANDARD", "wasteledger statement"),
    ):
        refused = office.run("done", rule)
        assert refused.status == ExitStatus.REFUSED
        assert hint in refused.complained
    unclear = office.run("done", "OFFICE-RECEIPT-30")
    assert unclear.status == ExitStatus.NOT_UNDERSTOOD
    assert unclear.complained.startswith("For which pickup was OFFICE-RECEIPT-30 done?\nName it with --pickup")
    assert office.run("done", "US-441-01", by="ann").status == ExitStatus.REFUSED
