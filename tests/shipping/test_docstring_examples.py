"""The examples in docstrings of pure modules say the truth."""

from __future__ import annotations

import doctest
import importlib

import pytest

from tests.bootstrap import ROOT

PACKAGE = ROOT / "wasteledger"
PLACES = ["errors", "units", "settings", "resources", "model", "estimate", "forecast", "ordinance"]

FILES = [
    file for place in PLACES for file in [PACKAGE / f"{place}.py", *(PACKAGE / place).rglob("*.py")] if file.is_file()
]
WITH_EXAMPLES = [
    ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts)
    for file in FILES
    if ">>> " in file.read_text("utf-8")
]


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_the_examples_of(name: str) -> None:
    run = doctest.testmod(importlib.import_module(name.removesuffix(".__init__")))

    assert run.attempted > 0
    assert run.failed == 0
