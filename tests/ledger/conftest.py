"""The busy practice, which tests damage and forge."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.ledger.damage import MARK
from tests.makers import (
    MONDAY_MORNING,
    Clinic,
    Watch,
    a_booking,
    a_closing,
    a_deposit,
    a_look,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_weighing,
    an_inspection,
    an_opening,
    make_clinic,
)
from wasteledger.ledger.ledger import Ledger
from wasteledger.model.entries import Milestone


@pytest.fixture(scope="session")
def busy_practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The practice's file after a full life of a container, a correction, and an inspection."""
    folder = tmp_path_factory.mktemp("busy")
    clinic = make_clinic(folder)
    clinic.record(an_opening())
    swap = clinic.record(a_swap(note=MARK))
    clinic.record(a_look("2-HV"))
    clinic.record(a_deposit())
    clinic.record(a_replacement(swap, a_swap("2-HV")))
    clinic.record(a_weighing())
    clinic.record(an_inspection("malfunction"))
    clinic.record(Milestone(what="stock_limit_reached"))
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    clinic.record(a_receipt())
    assert clinic.verify().holds
    clinic.ledger.close()
    return folder / "wasteledger.db"


@pytest.fixture
def busy(busy_practice: Path, tmp_path: Path) -> Iterator[Clinic]:
    """That practice at work, three days later."""
    watch = Watch(MONDAY_MORNING + timedelta(days=3))
    shutil.copy(busy_practice, tmp_path / "wasteledger.db")
    with Ledger.open(str(tmp_path / "wasteledger.db"), clock=watch) as ledger:
        yield Clinic(ledger, watch)
