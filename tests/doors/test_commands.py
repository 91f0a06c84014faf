"""A practice that works through the command line alone: set up, an evening, a pickup, its papers, an inspection."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.doors.conftest import Office
from wasteledger import resources


def test_an_evening_and_a_pickup_from_end_to_end(office: Office) -> None:
    office.did("line-cleaning", "room1", "room2", "--volume", "1gal", "--suction-minutes", "5", by="ann")
    office.did("look", "1-SE", "-c", "clean", by="ann")
    left = office.did("look", "1-HV", "-c", "clogged", "--left-to-dry", by="ann")
    assert "left to dry" in left.said
    office.watch.wait(hours=14)

    swapped = office.did("swap", "1-HV", "--gross", "34.2g", "--tare", "5.1g", by="ann")
    assert swapped.said.startswith(f"Entry {left.seq + 1}: Trap 1-HV swapped")
    assert "T-1" in swapped.said
    # The old insert is in the container with what it holds, so its whole gross mass is.
    assert "34.20 g ± " in swapped.said
    assert "weighed" in swapped.said
    assert "Never rinse a trap" in swapped.said

    office.did("deposit", "T-1", "--stream", "contact", "--count", "2", "--mass", "1.5g", by="ann")
    office.watch.wait(hours=1)
    weighed = office.did("weigh", "T-1", "1012.4g")
    assert "830.00 g ± " in weighed.said
    office.did("level", "T-1", "80%")

    listed = office.did("container", "list", "--json").json()["containers"]
    assert [one["container"] for one in listed] == ["T-1"]
    assert listed[0]["estimate"]["value_mg"] == 830_000
    assert listed[0]["estimate"]["basis"] == "weighed"
    assert listed[0]["fullness"]["permille"] == 800

    status = office.run("status")
    assert status.status == 1
    assert "! T-1 (open; traps, contact)" in status.said

    plan = office.did("pickup", "plan").said
    assert "chance of being full by level keeps within this site's 10 %" in plan
    assert "Fewest pickup days" in plan
    office.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-03-16")
    assert "booked for pickup P-1" in office.did("pickup", "plan").said

    office.watch.wait(days=13)
    office.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes")
    office.watch.wait(days=7)
    first = office.did("pickup", "receive", "P-1", "--on", "2026-03-18", "--proves", "received", "--net", "T-1=829.9g")
    assert "proof of recycling is still open" in first.said
    assert "P-1: received" in office.did("pickup", "list", "--open").said
    second = office.did("pickup", "receive", "P-1", "--on", "2026-03-20", "--proves", "recycled")
    assert "it is closed" in second.said
    assert office.did("pickup", "list", "--open").said == "No open pickup.\n"

    history = office.did("history", "--container", "T-1", "--json").json()
    assert [row["kind"] for row in history["rows"]] == [
        "container_opened",
        "swap",
        "deposit",
        "weighing",
        "level",
        "pickup_booked",
        "container_closed",
        "pickup_released",
        "receipt",
    ]
    verified = office.did("verify", "--json").json()
    assert verified["holds"] is True
    assert verified["verification"]["first_bad"] is None


def test_the_round_writes_each_answer_and_goes_on_where_it_was_left(office: Office) -> None:
    office.watch.wait(hours=7)
    # Cleaner in both rooms; 1-SE clean; 1-HV clogged, left to dry; 2-SE not looked, with a reason; then away.
    walked = office.did("round", by="ann", answers="y\no\ng\nd\nn\nHolder stuck.\nq\n")

    assert "2 of 5 traps looked at, left: 2-HV, JAR." in walked.said
    assert "not looked at, 2-SE: Holder stuck." in walked.said
    assert "To change before suction starts: 1-HV." in walked.said
    assert "Never rinse a trap" in walked.said
    rows = office.did("history", "--json", "--newest", "--page-size", "4").json()["rows"]
    assert [row["kind"] for row in rows] == ["look", "look", "look", "line_cleaning"]
    # Half a US gallon (1.893 L) for each of two rooms, as the starter round has it: common practice, no source.
    assert rows[3]["body"]["volume_ml"] == 3786

    office.watch.wait(minutes=5)
    again = office.did("round", by="ann", answers="x\ns\nT-1\no\n")
    assert "1-SE (" not in again.said
    assert "Line cleaner:" not in again.said
    assert "swapped; its old insert is in container T-1" in again.said
    assert "4 of 5 traps looked at.\n" in again.said


def test_the_morning_after_the_round_begins_with_what_was_left_to_dry(office: Office) -> None:
    office.did("look", "2-HV", "-c", "clogged", "--left-to-dry", by="ann")
    office.watch.wait(hours=21)

    walked = office.did("round", by="ann", answers="y\nT-1\nq\n")

    assert "1 to change before suction starts: Room 2 2-HV" in walked.said
    newest = office.did("history", "--trap", "2-HV", "--newest", "--json").json()["rows"][0]
    assert newest["kind"] == "swap"
    assert newest["body"]["condition"] == "clogged"


def test_the_round_says_which_rooms_would_do_for_the_line_cleaner(office: Office) -> None:
    said = office.did("round", answers="?\nroom1 room9 ?\nroom1, room1\nq\n").said

    assert said.count("  Rooms that would do: room1, room2") == 2
    assert "! There is no room “room9”, “?”." in said
    assert "drawn through room1." in said
    assert not any(raw in said for raw in ("pattern", "rooms.0", "A-Za-z"))


def test_the_round_says_a_refusal_and_asks_again(office: Office) -> None:
    walked = office.did("round", "--room", "room1", by="ann", answers="\ng\ns\nT-9\ng\nl\nq\n")

    assert "! There is no container “T-9”" in walked.said
    assert "Entry " in walked.said


def test_a_room_that_is_closed_today_is_an_explained_blank(office: Office) -> None:
    walked = office.did("round", by="ann", answers="\nr\nq\n")

    assert "0 of 5 traps looked at, left: 2-SE, 2-HV, JAR." in walked.said
    assert "not looked at, 1-SE: Room closed today." in walked.said


def test_the_register_shows_spans_and_pairs_as_such(office: Office, tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    text = resources.find("practice/starter.toml").read_text("utf-8")
    changes = {
        "closures = ": '[["2026-11-26", "2026-11-27"], ["2026-12-24", "2027-01-01"], "2027-02-15"]',
        "identifiers = ": '[["District account", "MF-0000"], ["Permit", "7"]]',
        "working_days = ": '["tue", "wed"]',
    }
    lines = text.splitlines()
    for begins, value in changes.items():
        (at,) = (place for place, line in enumerate(lines) if line.startswith(begins))
        lines[at] = begins + value
    plan.write_text("\n".join(lines), "utf-8")
    office.did("register", "update", str(plan))

    said = office.did("register", "show", "site").said

    assert "  closures: 2026-11-26 to 2026-11-27; 2026-12-24 to 2027-01-01; 2027-02-15\n" in said
    assert "  identifiers: District account: MF-0000; Permit: 7\n" in said
    assert "  working_days: Tuesday, Wednesday\n" in said
    assert "traps: yes; " in office.did("register", "show", "stream").said


@pytest.mark.parametrize("answer", ["a", "all", "all clean", "*", "cc"])
def test_no_key_makes_all_clean(office: Office, answer: str) -> None:
    walked = office.did("round", by="ann", answers=f"\n{answer}\nq\n")

    assert "0 of 5 traps looked at" in walked.said


def test_a_key_given_twice_writes_once(office: Office) -> None:
    key = "6f1c2a9e-6a41-4f7e-9a57-0c7a4a0f6d11"
    once = office.did("look", "1-SE", "-c", "debris", "--key", key, "--json", by="ann").json()
    twice = office.did("look", "1-SE", "-c", "debris", "--key", key, "--json", by="ann").json()

    assert (once["repeated"], twice["repeated"]) == (False, True)
    assert once["seq"] == twice["seq"]
    assert office.run("look", "1-SE", "-c", "clean", "--key", key, by="ann").status == 3


def test_times_are_the_sites_own(office: Office) -> None:
    office.watch.wait(hours=8)
    office.did("look", "1-SE", "-c", "clean", "--at", "10:30", by="ann")
    office.did("look", "1-HV", "-c", "clean", "--at", "2026-03-02T16:31:00Z", by="ann")
    office.did("look", "2-SE", "-c", "clean", "--at", "2026-03-02 10:32", "--on-paper", by="ann")

    rows = office.did("history", "--kind", "look", "--json").json()["rows"]
    # Chicago keeps UTC-6 in the first week of March.
    assert [row["happened_at"] for row in rows] == [
        "2026-03-02T16:30:00Z",
        "2026-03-02T16:31:00Z",
        "2026-03-02T16:32:00Z",
    ]


def test_history_is_sorted_filtered_and_paged(office: Office) -> None:
    for trap in ("1-SE", "1-HV", "2-SE", "2-HV"):
        office.watch.wait(minutes=1)
        office.did("look", trap, "-c", "clean", by="ann")
    office.did("look", "JAR", "-c", "debris", "--at", "09:30", by="ann")

    def traps(*filters: str) -> list[str]:
        rows = office.did("history", "--kind", "look", "--json", *filters).json()["rows"]
        return [row["body"]["trap"] for row in rows]

    assert traps() == ["JAR", "1-SE", "1-HV", "2-SE", "2-HV"]
    assert traps("--sort", "recorded") == ["1-SE", "1-HV", "2-SE", "2-HV", "JAR"]
    assert traps("--sort", "recorded", "--newest") == ["JAR", "2-HV", "2-SE", "1-HV", "1-SE"]
    assert traps("--sort", "recorded", "--page", "2", "--page-size", "2") == ["2-SE", "2-HV"]
    assert traps("--trap", "1-HV") == ["1-HV"]
    assert traps("--person", "max") == []
    assert traps("--from", "2026-03-03") == []
    assert len(traps("--from", "2026-03-02", "--to", "2026-03-02")) == 5


def test_a_correction_keeps_the_entry_and_says_why(office: Office) -> None:
    wrong = office.did("weigh", "T-1", "812g")
    office.did("correct", str(wrong.seq), "--reason", "Read the scale upside down.", "--set", "gross=218g")

    assert "35.60 g" in office.did("container", "show", "T-1").said
    shown = office.did("history", "--kind", "weighing").said
    assert "✗ Container T-1 weighed: gross 812 g" in shown
    assert "Read the scale upside down." in shown

    office.did("correct", str(wrong.seq), "--reason", "It was another container.", "--void")
    assert "empty" in office.did("container", "show", "T-1").said
    office.did("correct", str(wrong.seq), "--reason", "It was this one after all.", "--reinstate")
    assert office.did("verify").said.startswith("Site main: ")


def test_the_separator_is_inspected_repaired_and_its_unit_replaced(office: Office) -> None:
    office.did("separator", "inspect", "--result", "malfunction", "--leak-seen", "--follow-up", "Call the maker.")
    assert "malfunction open since" in office.did("separator", "list").said
    office.did(
        "separator", "repair", "--done-by", "Robin", "--description", "New seal", "--make", "Invented", "--model", "One"
    )
    office.did("container", "open", "U-1", "--type", "unit-box", "--tare", "100g")
    replaced = office.did("separator", "replace", "--into", "U-1", "--mass", "900g")
    assert "never open" in replaced.said
    said = office.did("separator", "list").said
    assert "malfunction" not in said.replace("last inspected", "").split("retaining unit exchanged")[1]


def test_due_names_the_rule_and_its_clause(office: Office) -> None:
    office.did("milestone", "first_discharge")

    due = office.run("due", "--json")
    report = next(one for one in due.json()["obligations"] if one["duty"] == "one-time-report")

    assert due.status == 1
    # 40 CFR 441.50(a)(2)(i), read from the rule's text: no later than 90 days after the first discharge.
    assert report["due_on"] == "2026-05-31"
    assert "441.50" in report["citation"]
    assert "441.50" in office.run("due").said


def test_people_come_and_go(office: Office) -> None:
    office.did("people", "add", "zoe", "--name", "Zoë Ünal", "--role", "assistant")
    office.watch.wait(hours=1)
    office.did("look", "1-SE", "-c", "clean", by="zoe")
    office.did("people", "retire", "zoe")
    assert "zoe" not in office.did("people", "list").said
    assert "Zoë Ünal" in office.did("people", "list", "--all").said
    assert office.run("look", "1-SE", "-c", "clean", by="zoe").status == 3


@pytest.mark.parametrize(
    "command",
    [
        ("status",),
        ("due",),
        ("coverage",),
        ("history",),
        ("verify",),
        ("container", "list"),
        ("container", "show", "T-1"),
        ("pickup", "list"),
        ("pickup", "plan"),
        ("separator", "list"),
        ("people", "list"),
        ("register", "show", "trap"),
        ("register", "show", "site"),
    ],
    ids=" ".join,
)
def test_what_reads_answers_in_json_and_nothing_else(office: Office, command: tuple[str, ...]) -> None:
    answer = office.run(*command, "--json")

    assert isinstance(json.loads(answer.said), dict)
    assert answer.said.isascii()
    assert answer.status in (0, 1)


def test_an_export_is_imported_with_the_same_digests(office: Office) -> None:
    office.did("look", "1-SE", "-c", "clean", by="ann")
    end = office.did("verify", "--json").json()["verification"]
    assert len(office.did("export").said.splitlines()) == end["entries"]
    exported = office.did("export", "--out", "journal.jsonl")
    assert f"{end['entries']}:{end['digest']}" in exported.said

    said = office.did("import", "journal.jsonl", "--ledger", "second.db").said
    assert said == f"Site main: {end['entries']} entries imported into second.db, digests unchanged.\n"
    assert office.did("verify", "--ledger", "second.db", "--json").json()["verification"] == end
    assert office.run("import", "journal.jsonl", "--ledger", "second.db").status == 3


def test_an_export_that_was_changed_is_refused_and_makes_no_ledger(office: Office) -> None:
    office.did("look", "1-SE", "-c", "clogged", by="ann")
    office.did("export", "--out", "journal.jsonl")
    exported = office.folder / "journal.jsonl"
    exported.write_bytes(exported.read_bytes().replace(b"clogged", b"debris"))

    answer = office.run("import", "journal.jsonl", "--ledger", "second.db")

    assert answer.status == 2
    assert "journal.jsonl line 36" in answer.complained
    assert not (office.folder / "second.db").exists()


def test_the_table_for_analysis_has_a_line_for_each_entry(office: Office) -> None:
    lines = office.did("export", "--csv").said.splitlines()

    assert lines[0].split(",")[:2] == ["site", "seq"]
    assert len(lines) == 1 + office.did("history", "--json").json()["total"]
    assert office.run("export", "--csv", "--json").status == 2


def test_a_backup_is_verified_and_restored_only_when_told(office: Office) -> None:
    office.did("backup", "kept.db")
    assert office.run("backup", "kept.db").status == 3
    office.did("look", "1-SE", "-c", "clean", by="ann")
    last = office.did("history", "--json").json()["total"]

    refused = office.run("restore", "kept.db")
    assert refused.status == 3
    assert f"entries {last} to {last}" in refused.complained
    assert office.run("restore", "kept.db", "--overwrite", answers="n\n").status == 3
    assert office.did("history", "--json").json()["total"] == last

    office.did("restore", "kept.db", "--overwrite", "--yes")
    assert office.did("history", "--json").json()["total"] == last - 1
    assert office.did("restore", "kept.db", "--ledger", "elsewhere.db").said.startswith("Site main: ")
