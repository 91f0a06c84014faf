"""Who may import whom: dependencies point downward only, and the pure packages stay pure."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator

import pytest

from tests.bootstrap import ROOT

PACKAGE = ROOT / "wasteledger"

# Values and refusals, which everything above names in its signatures.
VALUES = {"errors", "units", "model"}
BESIDE = {"clock", "resources", "settings"}
PURE_ABOVE_MODEL = {"estimate", "forecast", "ordinance"}

# One row for each module or package directly under wasteledger/; a new one needs a row of its own.
MAY_IMPORT: dict[str, set[str]] = {
    "__init__": set(),
    "errors": set(),
    "units": {"errors"},
    "clock": {"errors"},
    "settings": {"errors"},
    "resources": {"errors", "settings"},
    "model": {"errors", "units"},
    "estimate": VALUES,
    "forecast": VALUES | {"estimate"},
    "ordinance": VALUES,
    "ledger": VALUES | BESIDE,
    "office": VALUES | BESIDE | PURE_ABOVE_MODEL | {"ledger"},
    "documents": VALUES | BESIDE | {"office"},
    "exchange": VALUES | BESIDE | {"office", "ledger"},
    "cli": VALUES | BESIDE | {"office", "documents", "exchange"},
    "web": VALUES | BESIDE | {"office", "documents", "exchange"},
    "__main__": {"cli"},
}

PURE = {"errors", "units", "model"} | PURE_ABOVE_MODEL
NOT_IN_PURE = {
    "alembic",
    "fastapi",
    "jinja2",
    "numpy",
    "reportlab",
    "sqlalchemy",
    "sqlite3",
    "sqlmodel",
    "starlette",
    "time",
    "typer",
}
# numpy is loaded where something is learned, and by nothing else.
LOADED_WITHIN_FUNCTIONS = {("estimate/regression.py", "numpy")}
CLOCK_READINGS = {"now", "utcnow", "today", "time", "time_ns", "localtime", "gmtime"}


def imported_by(nodes: Iterator[ast.AST], package: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of every import among *nodes*, relative ones written out from *package*."""
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from ((node.lineno, name.name) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            parents = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            module = ".".join([*parents, *([node.module] if node.module else [])])
            # "from wasteledger import units" names its module last.
            yield from ((node.lineno, f"{module}.{name.name}") for name in node.names)


def run_at_import(body: list[ast.stmt]) -> Iterator[ast.AST]:
    """Every node that runs when the module is imported: not functions, nor what only a type checker reads."""
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            yield from run_at_import(node.orelse)
            continue
        yield node
        for field in ("body", "orelse", "finalbody"):
            yield from run_at_import(getattr(node, field, []))
        for way in getattr(node, "handlers", []):
            yield from run_at_import(way.body)


def wrong_in(source: str, path: str) -> list[str]:
    """What is wrong with the imports and clock readings of *source*, kept at *path* (from wasteledger/ down)."""
    tree = ast.parse(source)
    parts = path.removesuffix(".py").split("/")
    row, package = parts[0], ".".join(["wasteledger", *parts[:-1]])
    if row not in MAY_IMPORT:
        return [f"{path}: {row} has no row in the table of what may import what"]
    wrong = []
    at_import = set(imported_by(run_at_import(tree.body), package))
    for line, name in imported_by(ast.walk(tree), package):
        top, *rest = name.split(".")
        if top == "wasteledger" and rest[0] in MAY_IMPORT and rest[0] not in MAY_IMPORT[row] | {row}:
            wrong.append(f"{path}:{line}: {row} may not import {rest[0]}")
        is_late = (path, top) in LOADED_WITHIN_FUNCTIONS and (line, name) not in at_import
        if row in PURE and top in NOT_IN_PURE and not is_late:
            wrong.append(f"{path}:{line}: {row} is pure and may not import {top}")
    if row != "clock":
        wrong.extend(
            f"{path}:{node.lineno}: only clock.py asks what time it is, not {ast.unparse(node)}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Attribute)
            and node.attr in CLOCK_READINGS
            and ast.unparse(node.value).split(".")[-1] in {"datetime", "date", "time"}
        )
    if row == "cli":
        wrong.extend(
            f"{path}:{line}: the command line imports {name} inside the function that needs it, so that help stays fast"
            for line, name in imported_by(run_at_import(tree.body), package)
            if name.split(".")[0] not in sys.stdlib_module_names | {"typer", "wasteledger"}
            or (name.split(".")[0] == "wasteledger" and name.split(".")[1] in set(MAY_IMPORT) - {"errors", "cli"})
        )
    return wrong


def test_dependencies_point_downward() -> None:
    files = sorted(PACKAGE.rglob("*.py"))
    wrong = [
        line
        for file in files
        for line in wrong_in(file.read_text("utf-8"), file.relative_to(PACKAGE).as_posix())
        if "_packed" not in file.parts
    ]

    assert files
    assert not wrong, "\n" + "\n".join(wrong)


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("units.py", "from wasteledger.model.traps import Trap"),
        ("units.py", "from wasteledger import clock"),
        ("model/traps.py", "import wasteledger.ledger"),
        ("model/traps.py", "def read():\n    from wasteledger.office import swaps"),
        ("model/traps.py", "from ..ledger import tables"),
        ("model/traps.py", "from .. import ledger"),
        ("model/traps.py", "import sqlalchemy.orm"),
        ("estimate/prior.py", "import numpy as np"),
        ("estimate/prior.py", "def learn():\n    import numpy as np"),
        ("estimate/regression.py", "import numpy as np"),
        ("estimate/regression.py", "def learn():\n    import sqlalchemy"),
        ("ordinance/due.py", "from wasteledger.forecast import arrivals"),
        ("ledger/append.py", "from wasteledger.ordinance import rules"),
        ("documents/manifest.py", "from wasteledger.ledger import tables"),
        ("documents/manifest.py", "from wasteledger.exchange import tables"),
        ("office/swaps.py", "from datetime import datetime\nseen = datetime.now()"),
        ("office/swaps.py", "import datetime\nseen = datetime.date.today()"),
        ("office/swaps.py", "import time\nseen = time.time()"),
        ("cli/main.py", "from wasteledger.office import swaps"),
        ("cli/main.py", "import sqlalchemy"),
        ("cli/main.py", "try:\n    import rich\nexcept ImportError:\n    pass"),
        ("attic/old.py", ""),
    ],
)
def test_a_wrong_import_is_seen(path: str, source: str) -> None:
    assert wrong_in(source, path)


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("model/traps.py", "from wasteledger.model.streams import Stream\nfrom . import streams"),
        ("office/swaps.py", "from wasteledger.ordinance import due\nfrom wasteledger import __version__"),
        (
            "cli/main.py",
            "import json\nimport typer\nfrom wasteledger.cli import output\nfrom wasteledger import errors",
        ),
        ("cli/main.py", "def swap():\n    from wasteledger.office import swaps"),
        (
            "cli/main.py",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from wasteledger.office import swaps",
        ),
        ("estimate/regression.py", "def learn():\n    import numpy as np"),
        ("ledger/append.py", "import time\ntime.sleep(1)"),
        ("clock.py", "from datetime import datetime\nseen = datetime.now()"),
    ],
)
def test_a_right_import_passes(path: str, source: str) -> None:
    assert wrong_in(source, path) == []
