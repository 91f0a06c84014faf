"""A ledger as a whole: its sites, and which of them is meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.makers import KIM, Clinic, Watch, a_look, a_person, a_site
from wasteledger.ledger.append import NoSuchSite, Recorder
from wasteledger.ledger.ledger import Ledger, UnknownPerson


def test_an_empty_ledger_has_no_site(tmp_path: Path) -> None:
    with Ledger.open(str(tmp_path / "wasteledger.db"), create=True) as ledger:
        assert ledger.sites() == []
        with pytest.raises(NoSuchSite, match="is empty") as refused:
            ledger.the_site()

    assert "wasteledger setup" in refused.value.hint


def test_the_only_site_need_not_be_named(clinic: Clinic) -> None:
    assert clinic.ledger.the_site() == "elm"
    assert clinic.ledger.the_site("elm") == "elm"
    with pytest.raises(NoSuchSite, match="no site “oak”") as refused:
        clinic.ledger.the_site("oak")

    assert "elm" in refused.value.hint


def test_one_of_several_sites_must_be_named(clinic: Clinic) -> None:
    with clinic.ledger.writing("oak", KIM) as desk:
        desk.append(a_site("oak"))
        desk.append(a_person())

    with pytest.raises(NoSuchSite, match="several sites") as refused:
        clinic.ledger.the_site()

    assert refused.value.hint == "Name one with --site: elm, oak."
    assert clinic.ledger.the_site("oak") == "oak"


def test_a_transaction_without_entries_needs_nobody(clinic: Clinic) -> None:
    with clinic.ledger.writing("elm", Recorder("stranger", "cli")) as desk:
        assert desk.get_entry(1).seq == 1

    with pytest.raises(UnknownPerson) as refused, clinic.ledger.writing("elm", Recorder("stranger", "cli")) as desk:
        desk.append(a_look())

    assert "--by" in refused.value.hint


def test_opening_a_ledger_that_is_there_with_leave_to_make_one_changes_nothing(clinic: Clinic) -> None:
    before = clinic.entries()

    with Ledger.open(str(clinic.ledger.engine.url.database), create=True, clock=Watch()) as again:
        assert Clinic(again).entries() == before
