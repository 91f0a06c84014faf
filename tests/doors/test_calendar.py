"""`due --ics` from the command line: the file, its second writing, and what it leaves alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import vobject

from tests.doors.conftest import Office


def events_in(file: Path) -> list[Any]:
    """The events of a file, by a reader that shares no code with what wrote it."""
    return list(vobject.readOne(file.read_bytes().decode("utf-8")).vevent_list)


def test_what_is_due_goes_into_a_calendar_and_is_struck_out_when_done(office: Office) -> None:
    """40 CFR 441.30(a)(1)(v): ten business days after Monday, 2 March 2026 make Monday, 16 March."""
    file = office.folder / "due.ics"
    office.did("separator", "inspect", "SEP", "--result", "malfunction")
    first = office.run("due", "--ics", str(file))
    (repair,) = [one for one in events_in(file) if f"{one.dtstart.value}" == "2026-03-16"]

    assert first.status == 1
    assert first.complained.startswith(f"{file}: {len(events_in(file))} day")
    assert repair.status.value == "CONFIRMED"

    office.watch.wait(days=1)
    mended = ("--done-by", "Robin", "--description", "New seal", "--make", "Invented", "--model", "One")
    office.did("separator", "repair", "SEP", "--action", "repaired", *mended)
    second = office.run("due", "--ics", str(file), "--json")
    (again,) = [one for one in events_in(file) if one.uid.value == repair.uid.value]
    assert again.status.value == "CANCELLED"
    assert int(again.sequence.value) > int(repair.sequence.value)
    assert "1 cancelled" in second.complained
    dated = [one for one in second.json()["obligations"] if one["kind"] == "deadline"]
    assert len([one for one in events_in(file) if one.status.value == "CONFIRMED"]) == len(dated)


def test_a_list_up_to_a_day_keeps_the_rest_of_the_calendar(office: Office) -> None:
    file = office.folder / "due.ics"
    office.did("separator", "inspect", "SEP", "--result", "malfunction")
    office.run("due", "--ics", str(file))
    whole = sorted(one.uid.value for one in events_in(file))
    short = office.run("due", "--until", "2026-03-03", "--ics", str(file), "--json")

    assert short.json()["obligations"] == []
    assert sorted(one.uid.value for one in events_in(file)) == whole
    assert {one.status.value for one in events_in(file)} == {"CONFIRMED"}


def test_a_list_up_to_a_day_shows_the_present_day_of_what_comes_round_later(office: Office) -> None:
    """A malfunction of 9 March 2026, after one of 2 March was mended: the ten business days end on 23 March."""
    file, asked = office.folder / "due.ics", ("due", "--until", "2026-03-16", "--ics")
    office.did("separator", "inspect", "SEP", "--result", "malfunction")
    office.run(*asked, str(file))
    (before,) = [one for one in events_in(file) if f"{one.dtstart.value}" == "2026-03-16"]
    mended = ("--done-by", "Robin", "--description", "New seal", "--make", "Invented", "--model", "One")
    office.watch.wait(days=1)
    office.did("separator", "repair", "SEP", "--action", "repaired", *mended)
    office.watch.wait(days=6)
    office.did("separator", "inspect", "SEP", "--result", "malfunction")
    second = office.run(*asked, str(file), "--json")

    (moved,) = [one for one in events_in(file) if one.uid.value == before.uid.value]
    assert (f"{moved.dtstart.value}", moved.status.value) == ("2026-03-23", "CONFIRMED")
    assert int(moved.sequence.value) > int(before.sequence.value)
    assert "2026-03-23" not in {one["due_on"] for one in second.json()["obligations"]}


def test_a_file_of_somebody_else_is_left_alone(office: Office) -> None:
    file = office.folder / "notes.txt"
    file.write_text("Lunch at twelve.", "utf-8")
    answer = office.run("due", "--ics", str(file))

    assert (answer.status, answer.said) == (3, "")
    assert "is no calendar that was written here" in answer.complained
    assert file.read_text("utf-8") == "Lunch at twelve."
    assert office.run("due", "--ics", str(office.ledger)).status == 3
    assert office.did("verify").status == 0
