"""Settings are a pure function of the environment."""

from __future__ import annotations

from pathlib import Path

import pytest

from wasteledger.settings import BadSetting, Paper, Settings, read_settings


def test_nothing_said_gives_what_readme_promises() -> None:
    assert read_settings({}) == Settings("wasteledger.db", None, None, None, Paper.LETTER)


def test_everything_said_is_taken() -> None:
    said = {
        "WASTELEDGER_LEDGER": "/srv/office.db",
        "WASTELEDGER_SITE": "main",
        "WASTELEDGER_BY": "mara",
        "WASTELEDGER_TEMPLATES": "/srv/templates",
        "WASTELEDGER_PAPER": "A4",
        "HOME": "/root",
    }

    assert read_settings(said) == Settings("/srv/office.db", "main", "mara", Path("/srv/templates"), Paper.A4)


def test_a_blank_is_no_answer() -> None:
    assert read_settings({"WASTELEDGER_SITE": " ", "WASTELEDGER_PAPER": "", "WASTELEDGER_LEDGER": ""}) == Settings()


def test_an_unknown_paper_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(BadSetting, match=r"WASTELEDGER_PAPER is “foolscap”") as refusal:
        read_settings({"WASTELEDGER_PAPER": "foolscap"})

    assert refusal.value.hint == "Set it to letter or a4."


def test_a_password_in_the_ledger_stays_out_of_what_is_logged() -> None:
    settings = read_settings({"WASTELEDGER_LEDGER": "postgresql://office:secret@db/ledger"})

    assert "secret" not in repr(settings)
