"""The practice at work that the use cases are tried on."""

from __future__ import annotations

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


@pytest.fixture
def clinic(tmp_path: Path, watch: Watch) -> Iterator[Workplace]:
    """The practice on a Monday at eight, set up sixty days before, with Kim at work and nothing else recorded."""
    with Workplace.open(make_place(tmp_path, watch), by="kim", clock=watch) as place:
        yield place


@pytest.fixture
def crew(clinic: Workplace) -> Crew:
    """Everybody at the practice."""
    return make_crew(clinic)
