"""Slips of the hand that must not cost a record, and days that were kept on paper before the ledger."""

from __future__ import annotations

import pytest

from tests.doors.conftest import Office
from wasteledger.errors import ExitStatus
from wasteledger.resources import find


def test_no_paper_or_export_is_written_over_a_ledger(office: Office) -> None:
    before = office.ledger.read_bytes()

    over = office.run("export", "--out", str(office.ledger))
    paper = office.run("print", "log-sheet", "--out", str(office.ledger))

    assert (over.status, paper.status) == (ExitStatus.REFUSED, ExitStatus.REFUSED)
    assert "belongs to a ledger" in over.complained
    assert office.ledger.read_bytes() == before


def test_a_round_refuses_a_stranger_and_a_room_that_is_not_there_before_it_begins(office: Office) -> None:
    stranger = office.run("round", "--by", "nobody")
    lost = office.run("round", "--room", "room99")

    assert stranger.status == ExitStatus.REFUSED
    assert lost.status == ExitStatus.NOT_UNDERSTOOD
    assert "room99" in lost.complained


def test_a_year_beyond_the_calendar_is_not_understood(office: Office) -> None:
    assert office.run("look", "1-HV", "-c", "clean", "--at", "9999-12-31 23:59").status == ExitStatus.NOT_UNDERSTOOD


@pytest.mark.parametrize(
    "command",
    [
        "remark x --at 0206-11-20T10:00",
        "procedures --from 0206-03-02 --removed 3",
        "balance --to 0001-01-01",
        "balance --from 0001-01-01",
        "print pictures --to 0001-01-01",
        "print deposit-log --from 0001-01-01 --to 9999-12-31",
        "pickup book P-1 T-1 --carrier carrier --facility recycler --on 9999-12-31",
        "due --until 9999-12-31",
    ],
)
def test_a_year_that_nobody_means_is_refused_in_a_plain_sentence(office: Office, command: str) -> None:
    answer = office.run(*command.split())

    assert answer.status == ExitStatus.NOT_UNDERSTOOD
    assert "is too far away to reckon with." in answer.complained
    assert "1900-01-01 to 2200-12-31" in " ".join(answer.complained.split())


@pytest.mark.parametrize(
    "command", ["balance --to 1900-01-01", "print pictures --to 1900-01-01", "due --until 2200-12-31"]
)
def test_the_first_and_last_day_that_can_be_given_are_no_crash(office: Office, command: str) -> None:
    answer = office.run(*command.split())

    assert answer.status in (ExitStatus.DONE, ExitStatus.FOUND, ExitStatus.NOT_UNDERSTOOD)
    assert "reckon" not in answer.complained


def test_a_site_set_up_in_a_year_that_nobody_means_leaves_nothing_behind(bare_office: Office) -> None:
    plan = str(find("practice/starter.toml"))

    assert bare_office.run("setup", plan, "--since", "0206-01-01").status == ExitStatus.NOT_UNDERSTOOD
    assert not bare_office.ledger.exists()


def test_a_note_is_read_in_the_history(office: Office) -> None:
    office.run("look", "1-HV", "-c", "clean", "--note", "Basket was bent.")

    assert "Note: Basket was bent." in office.run("history", "--trap", "1-HV", "--newest").said
