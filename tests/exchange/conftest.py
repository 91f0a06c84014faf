"""A practice with some history, for everything that leaves a ledger and comes into one."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.makers import (
    MONDAY_MORNING,
    Clinic,
    Watch,
    a_booking,
    a_closing,
    a_deposit,
    a_look,
    a_reading,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_weighing,
    an_opening,
    make_clinic,
)
from wasteledger.exchange.journal import export_lines
from wasteledger.ledger.ledger import Ledger


@pytest.fixture(scope="session")
def lived_in_practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The practice's file after a container's whole life, a correction, and names beyond ASCII; 33 entries."""
    folder = tmp_path_factory.mktemp("lived-in")
    clinic = make_clinic(folder)
    clinic.record(an_opening(place="Südwand, Raum ß"))
    swap = clinic.record(a_swap(note="Zoë’s room — 歯科 🦷"))
    clinic.record(a_look("2-HV"))
    clinic.record(a_deposit())
    clinic.record(a_replacement(swap, a_swap("2-HV", gross=a_reading(34_200), tare=a_reading(5_000))))
    clinic.record(a_weighing())
    clinic.append(a_look(), at=MONDAY_MORNING - timedelta(days=3))
    for body in (a_closing(), a_booking(), a_release(), a_receipt()):
        clinic.record(body)
    clinic.record(a_look(note="=HYPERLINK(0)"))
    clinic.ledger.close()
    return folder / "wasteledger.db"


@pytest.fixture
def lived_in(lived_in_practice: Path, tmp_path: Path) -> Iterator[Clinic]:
    """That practice at work, three days later."""
    watch = Watch(MONDAY_MORNING + timedelta(days=3))
    shutil.copy(lived_in_practice, tmp_path / "wasteledger.db")
    with Ledger.open(str(tmp_path / "wasteledger.db"), clock=watch) as ledger:
        yield Clinic(ledger, watch)


@pytest.fixture(scope="session")
def lines_of_its_export(lived_in_practice: Path) -> tuple[bytes, ...]:
    """The lines of its export, to be copied."""
    with Ledger.open(str(lived_in_practice)) as ledger, ledger.reading("elm") as reader:
        return tuple(export_lines(reader.entries()))


@pytest.fixture
def exported(lines_of_its_export: tuple[bytes, ...]) -> list[bytes]:
    """The lines of its export, for a test to change."""
    return list(lines_of_its_export)


@pytest.fixture
def empty_ledger(tmp_path: Path) -> Ledger:
    """A ledger without any site, beside the practice's."""
    return Ledger.open(str(tmp_path / "elsewhere.db"), create=True, clock=Watch())
