"""One journal for each database that a ledger may lie in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.contracts.journals import MAKERS, Journal


@pytest.fixture(params=sorted(MAKERS))
def journal(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Journal]:
    """The practice's journal with its register written, on Monday morning."""
    made = MAKERS[request.param](tmp_path)
    with made.ledger:
        yield made
