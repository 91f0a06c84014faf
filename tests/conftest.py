"""What every test runs under: each folder's marker, and no deadline for drawn values on a shared machine."""

from __future__ import annotations

from pathlib import Path

import hypothesis
import pytest

MARKED_FOLDERS = {"browser", "contracts", "doors", "outside", "properties", "shipping"}

hypothesis.settings.register_profile("house", deadline=None)
hypothesis.settings.load_profile("house")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test with its folder's name, so that ``-m "not shipping"`` leaves that folder out."""
    for test in items:
        folder = test.path.relative_to(Path(__file__).parent).parts[0]
        if folder in MARKED_FOLDERS:
            test.add_marker(folder)
