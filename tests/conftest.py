"""What every test runs under: its folder's marker, and none of the settings of the person who tests."""

from __future__ import annotations

import os
from pathlib import Path

import hypothesis
import pytest

from wasteledger import settings

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
