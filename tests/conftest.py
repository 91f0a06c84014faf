"""What every test runs under: its folder's marker, and none of the settings of the person who tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

from tests.makers import Clinic, Watch, make_clinic
from wasteledger import settings
from wasteledger.ledger.ledger import Ledger

MARKED_FOLDERS = {"browser", "contracts", "doors", "outside", "properties", "shipping"}

# A test must never write into the ledger that the person's own environment names.
for variable in settings.VARIABLES:
    os.environ.pop(variable, None)

# How long one drawn value takes says nothing on a machine that others use too.
hypothesis.settings.register_profile("house", deadline=None)
hypothesis.settings.load_profile("house")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test with its folder's name, so that ``-m "not shipping"`` leaves that folder out."""
    for test in items:
        folder = test.path.relative_to(Path(__file__).parent).parts[0]
        if folder in MARKED_FOLDERS:
            test.add_marker(folder)


@pytest.fixture(scope="session")
def registered_practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a practice with its register written; made once, to be copied and never written to."""
    folder = tmp_path_factory.mktemp("registered")
    make_clinic(folder).ledger.close()
    return folder / "wasteledger.db"


@pytest.fixture
def clinic(registered_practice: Path, tmp_path: Path) -> Iterator[Clinic]:
    """The invented practice at work, on a Monday morning, with its register written and nothing else."""
    watch = Watch()
    shutil.copy(registered_practice, tmp_path / "wasteledger.db")
    with Ledger.open(str(tmp_path / "wasteledger.db"), clock=watch) as opened:
        yield Clinic(opened, watch)


@pytest.fixture
def ledger(clinic: Clinic) -> Ledger:
    """The practice's ledger."""
    return clinic.ledger


@pytest.fixture
def monday_morning(clinic: Clinic) -> Watch:
    """The clock of the practice's ledger, standing at eight o'clock on a Monday until it is moved."""
    return clinic.watch
