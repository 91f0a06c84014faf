"""A chain recomputed from its export by a few lines that import nothing of ours.

The lines are `tests/outside/chain_checker.py`: Python's json and hashlib (SHA-256, FIPS 180-4), and the form of the
hashed bytes as DEVELOPERS.md states it.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from tests.makers import Clinic, a_correction, a_deposit, a_look, a_person, a_replacement, a_site, a_swap, an_opening
from tests.outside import chain_checker
from wasteledger.exchange.journal import export_lines


@pytest.fixture
def export(clinic: Clinic) -> bytes:
    """The export of a small chain with names and notes from many scripts."""
    clinic.record(a_site(name="Élan Dental, 歯科 — Ζωή & Zoë"))
    clinic.record(a_person("zoe"))
    clinic.record(an_opening(place="Südwand 🦷"))
    swap = clinic.record(a_swap(note='said "no"\\ \u2028 and /'))
    clinic.record(a_deposit(note="one\ntwo"))
    clinic.record(a_replacement(swap, a_swap("2-HV", note="Ångström")))
    clinic.record(a_correction(swap, "reinstate"))
    clinic.append(a_look(), at=clinic.watch.now - timedelta(days=2))
    return b"".join(export_lines(clinic.entries()))


def test_the_checker_shares_no_code_with_the_program() -> None:
    tree = ast.parse(Path(chain_checker.__file__).read_text("utf-8"))
    imported = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    from_others = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}

    assert imported | from_others == {"__future__", "hashlib", "json", "sys"}


def test_the_chain_is_recomputed_entry_by_entry(clinic: Clinic, export: bytes) -> None:
    digests = [entry.digest for entry in clinic.entries()]

    assert chain_checker.digests_of(export.decode()) == digests
    assert chain_checker.first_wrong(export.decode()) is None


def test_any_changed_byte_of_the_export_is_found(export: bytes) -> None:
    """One bit of every hundredth byte; a change that leaves no text or no JSON is found by that alone."""
    found = 0
    for where in range(0, len(export), 100):
        changed = bytearray(export)
        changed[where] ^= 0x01
        line = export.count(b"\n", 0, where) + 1
        wrong = chain_checker.first_wrong(changed.decode("utf-8", "replace"))
        assert wrong is not None
        assert wrong <= line + 1
        found += 1

    assert found > 100


@pytest.mark.parametrize("name", ["Élan", "歯科", "🦷", "Ångström"])
def test_a_changed_letter_names_its_line(export: bytes, name: str) -> None:
    text = export.decode()
    line = text.count("\n", 0, text.index(name)) + 1

    assert chain_checker.first_wrong(text.replace(name, f"{name}!", 1)) == line


def test_a_line_taken_out_put_in_or_moved_is_found(export: bytes) -> None:
    lines = [line.decode() for line in export.splitlines(keepends=True)]

    assert chain_checker.first_wrong("".join(lines[:4] + lines[5:])) == 5
    assert chain_checker.first_wrong("".join([*lines[:5], lines[4], *lines[5:]])) == 6
    assert chain_checker.first_wrong("".join([*lines[:4], lines[5], lines[4], *lines[6:]])) == 5


def test_it_runs_by_itself(export: bytes, tmp_path: Path) -> None:
    file = tmp_path / "chain.jsonl"
    file.write_bytes(export)
    command = [sys.executable, "-I", chain_checker.__file__, str(file)]

    good = subprocess.run(command, capture_output=True, text=True, check=False)
    file.write_bytes(export.replace(b"Zo", b"zo", 1))
    bad = subprocess.run(command, capture_output=True, text=True, check=False)

    assert (good.returncode, good.stdout) == (0, f"{len(export.splitlines())} entries hold\n")
    assert (bad.returncode, bad.stdout) == (1, "line 22 does not hold\n")
