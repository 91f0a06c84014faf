"""The practice at work that the use cases are tried on."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.makers import Watch
from tests.office.makers import Crew, make_crew, make_place
from wasteledger.office.workplace import Workplace


@pytest.fixture
def watch() -> Watch:
    """The clock of the practice's ledger; it stands until somebody moves it."""
    return Watch()


@pytest.fixture(scope="session")
def kept_ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ledger as it was set up, of which every test gets a copy of its own."""
    return Path(make_place(tmp_path_factory.mktemp("kept"), Watch()))


@pytest.fixture
def place(tmp_path: Path, kept_ledger: Path, watch: Watch) -> Iterator[Workplace]:
    """The practice on a Monday at eight, set up sixty days before, with Kim at work and nothing else recorded."""
    location = str(shutil.copy(kept_ledger, tmp_path))
    with Workplace.open(location, by="kim", clock=watch) as opened:
        yield opened


@pytest.fixture
def crew(place: Workplace) -> Crew:
    """Everybody at the practice."""
    return make_crew(place)
