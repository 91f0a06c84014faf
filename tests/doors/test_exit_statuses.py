"""What each exit status means, and that a refusal is two lines on standard error and writes nothing."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest

from tests.bootstrap import ROOT
from tests.doors.conftest import Office

LOOK = ("look", "1-SE", "-c", "clean")


def entries(office: Office) -> int:
    return int(office.did("history", "--json").json()["total"])


@pytest.mark.parametrize(
    ("status", "command"),
    [
        (2, ("weigh", "T-1", "812")),
        (2, ("weigh", "T-1", "heavy")),
        (2, ("level", "T-1", "60")),
        (2, ("look", "1-SE", "-c", "clean", "--at", "25:00")),
        (2, ("look", "1-SE", "-c", "clean", "--at", "2026-03-01")),
        (2, ("look", "1-SE", "-c", "not_looked")),
        (2, ("due", "--until", "soon")),
        (2, ("history", "--kind", "nonsense")),
        (2, ("history", "--page", "0")),
        (2, ("verify", "--paper", "nonsense")),
        (2, ("correct", "1", "--reason", "Neither this nor that.")),
        (2, ("container", "open", "a name", "--type", "trap-pail", "--tare", "1g")),
        (2, ("pickup", "receive", "P-1", "--on", "2026-03-02", "--net", "T-1")),
        (3, ("look", "9-XX", "-c", "clean")),
        (3, ("look", "1-SE", "-c", "clean", "--at", "2026-03-02 23:00")),
        (3, ("look", "1-SE", "-c", "clean", "--at", "2020-03-02 10:00")),
        (3, ("look", "1-SE", "-c", "clean", "--by", "nobody")),
        (3, ("swap", "1-SE", "--into", "T-9")),
        (3, ("deposit", "T-1", "--stream", "teeth", "--count", "1")),
        (3, ("weigh", "T-1", "1g")),
        (3, ("container", "open", "T-1", "--type", "trap-pail", "--tare", "1g")),
        (3, ("container", "show", "T-9")),
        (3, ("pickup", "receive", "P-9", "--on", "2026-03-02")),
        (3, ("pickup", "book", "P-1", "T-1", "--carrier", "x", "--facility", "recycler", "--on", "2026-03-09")),
        (
            3,
            (
                "pickup",
                "book",
                "P-1",
                "T-1",
                "--carrier",
                "carrier",
                "--facility",
                "recycler",
                "--on",
                "2026-03-09",
                "--by",
                "ann",
            ),
        ),
        (3, ("correct", "999", "--reason", "There is none.", "--void")),
        (3, ("history", "--trap", "9-XX")),
        (3, ("status", "--site", "elsewhere")),
        (4, ("status", "--ledger", "not-here.db")),
    ],
    ids=lambda part: " ".join(part) if isinstance(part, tuple) else str(part),
)
def test_a_refusal_is_two_lines_and_writes_nothing(office: Office, status: int, command: tuple[str, ...]) -> None:
    before = entries(office)

    answer = office.run(*command)

    assert answer.status == status, answer.complained
    assert answer.said == ""
    lines = answer.complained.splitlines()
    assert len(lines) == 2
    assert all(line.endswith((".", ")", "?", "lb", "TYPE")) for line in lines), lines
    assert entries(office) == before


@pytest.mark.parametrize(
    "command",
    [("nonsense",), ("look",), ("look", "1-SE"), ("look", "1-SE", "-c", "dirty"), ("swap", "1-SE", "--depth", "3")],
)
def test_what_the_words_do_not_allow_is_not_understood(office: Office, command: tuple[str, ...]) -> None:
    answer = office.run(*command)

    assert answer.status == 2
    assert "Error:" in answer.complained
    assert answer.said == ""


def test_a_refusal_speaks_in_the_sites_time(office: Office) -> None:
    answer = office.run("look", "1-SE", "-c", "clean", "--at", "23:00")

    assert "2 March 2026 23:00 America/Chicago" in answer.complained


def test_a_question_that_nobody_answers_changes_nothing(office: Office) -> None:
    office.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-03-09")
    before = entries(office)

    for answers in (None, "", "n\n", "\n"):
        answer = office.run("pickup", "release", "P-1", "--taken-by", "Dana", answers=answers)
        assert answer.status == 3
        assert "Nothing was changed" in answer.complained
    assert entries(office) == before
    assert "released to Dana" in office.did("pickup", "release", "P-1", "--taken-by", "Dana", answers="y\n").said


def test_a_check_that_finds_something_ends_with_1(office: Office) -> None:
    office.did("milestone", "first_discharge")
    assert office.run("verify", "--paper", f"1:{'0' * 16}").status == 1
    office.did("container", "close", "T-1")
    assert office.run("status").status == 1


def test_a_changed_entry_ends_verify_with_5_and_is_named(office: Office) -> None:
    office.did(*LOOK)
    changed = office.did("look", "1-HV", "-c", "clogged").seq
    office.did("look", "2-SE", "-c", "clean")
    with closing(sqlite3.connect(office.ledger)) as file:
        guards = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            file.execute(f'DROP TRIGGER "{name}"')
        table = next(
            row[0]
            for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if {"digest", "previous"} <= {column[1] for column in file.execute(f'PRAGMA table_info("{row[0]}")')}
        )
        file.execute(f"UPDATE \"{table}\" SET body = replace(body, 'clogged', 'clean') WHERE seq = ?", (changed,))
        for _, sql in guards:
            file.execute(sql)
        file.commit()

    answer = office.run("verify")

    assert answer.status == 5
    assert f"The first entry that differs is {changed}." in answer.said
    rebuilt = office.run("verify", "--rebuild")
    assert rebuilt.status == 5
    assert "Nothing was rebuilt" in rebuilt.complained


def test_a_standing_that_differs_is_written_anew(office: Office) -> None:
    office.did(*LOOK)
    with closing(sqlite3.connect(office.ledger)) as file:
        tables = [row[0] for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        table = next(
            name
            for name in tables
            if {"trap", "looks"} <= {column[1] for column in file.execute(f'PRAGMA table_info("{name}")')}
        )
        file.execute(f'UPDATE "{table}" SET looks = looks + 7')
        file.commit()

    assert office.run("verify").status in (1, 5)
    office.did("verify", "--rebuild")
    office.did("verify")


def start(office: Office, *arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Run the program as a person does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "wasteledger", *arguments],
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "WASTELEDGER_LEDGER": str(office.ledger),
            "WASTELEDGER_BY": "max",
            **environment,
        },
        capture_output=True,
        check=False,
    )


def test_a_console_that_knows_few_signs_does_not_stop_the_program(office: Office) -> None:
    done = start(office, "register", "show", "stream", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    refused = start(office, "weigh", "T-1", "812", PYTHONIOENCODING="ascii", PYTHONUTF8="0")

    assert done.returncode == 0, done.stderr
    assert refused.returncode == 2
    assert b"has no unit." in refused.stderr


def test_a_traceback_is_shown_only_when_asked_for(office: Office) -> None:
    assert b"Traceback" not in start(office, "weigh", "T-1", "812").stderr
    assert b"Traceback" in start(office, "weigh", "T-1", "812", WASTELEDGER_TRACEBACK="1").stderr
