"""How little is loaded when the program is imported or asked for help: an assistant in gloves does not wait."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.bootstrap import ROOT

HEAVY = {
    "alembic",
    "fastapi",
    "jinja2",
    "numpy",
    "PIL",
    "reportlab",
    "scipy",
    "sqlalchemy",
    "sqlmodel",
    "starlette",
    "uvicorn",
}


def loaded_by(*arguments: str) -> set[str]:
    """The top-level modules that a new Python loads when it is started with *arguments*."""
    # -X importtime makes Python itself report on standard error each module it loads, as "import time: … | … | name".
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    lines = done.stderr.splitlines()
    assert done.returncode == 0, "\n".join(line for line in lines if not line.startswith("import time:"))
    return {line.rpartition("|")[2].strip().partition(".")[0] for line in lines if line.startswith("import time:")}


@pytest.mark.parametrize(
    "arguments",
    [("-c", "import wasteledger"), ("-m", "wasteledger", "--help")],
    ids=["import", "help"],
)
def test_starting_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    loaded = loaded_by(*arguments)

    assert "wasteledger" in loaded
    assert not loaded & HEAVY


def test_a_heavy_module_would_be_seen() -> None:
    assert "sqlalchemy" in loaded_by("-c", "import sqlmodel")
