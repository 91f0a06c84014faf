"""Slips of the hand that must not cost a record, and days that were kept on paper before the ledger."""

from __future__ import annotations

from tests.doors.conftest import Office
from wasteledger.errors import ExitStatus


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


def test_a_note_is_read_in_the_history(office: Office) -> None:
    office.run("look", "1-HV", "-c", "clean", "--note", "Basket was bent.")

    assert "Note: Basket was bent." in office.run("history", "--trap", "1-HV", "--newest").said
