"""Every command in README is run in order and prints what README says; ``…`` stands for what changes by the day."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_SLOW_SECONDS = 300


@dataclass
class Shown:
    """A command as README shows it, with the lines that it prints there."""

    command: str
    lines: list[str] = field(default_factory=list)


def shown_commands(text: str) -> Iterator[Shown]:
    """The commands of README's console blocks; a line that ends in a backslash goes on."""
    for block in re.findall(r"^```console\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        shown: Shown | None = None
        for line in block.replace("\\\n", " ").splitlines():
            if line.startswith("$ "):
                if shown:
                    yield shown
                shown = Shown(line.removeprefix("$ "))
            elif shown:
                shown.lines.append(line.rstrip())
        if shown:
            yield shown


def missing_lines(shown: Shown, printed: str) -> list[str]:
    """Lines of README that the command did not print."""
    there = [line.rstrip() for line in printed.splitlines()]
    patterns = [line for line in shown.lines if line.strip(" …")]
    return [
        line
        for line in patterns
        if not any(re.fullmatch(".*".join(map(re.escape, line.split("…"))), one) for one in there)
    ]


def test_a_line_that_is_not_printed_is_found() -> None:
    shown = next(shown_commands("```console\n$ x\nEntry … written.\nAnother.\n```\n"))

    assert missing_lines(shown, "Entry 12 written.\n") == ["Another."]


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder to work in, with a `wasteledger` command on the path."""
    folder = tmp_path_factory.mktemp("readme office")
    made = folder / "bin"
    made.mkdir()
    command = made / "wasteledger"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m wasteledger "$@"\n')
    command.chmod(0o755)
    return folder


def test_every_command_in_readme_runs_and_prints_what_stands_there(office: Path) -> None:
    environment = os.environ | {
        "PATH": f"{office / 'bin'}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "PYTHONIOENCODING": "utf-8",
        "COLUMNS": "120",
    }
    shown = list(shown_commands((ROOT / "README.md").read_text("utf-8")))
    faults: list[str] = []

    assert len(shown) > 10
    for one in shown:
        command = re.sub(r"^python3 (demo|tests)\b", f'"{sys.executable}" "{ROOT}/demo/play.py"', one.command)
        if one.command.startswith("export "):
            environment |= dict(pair.split("=", 1) for pair in one.command.split()[1:])
            continue
        run = subprocess.run(
            ["sh", "-c", command],
            cwd=office,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            timeout=_SLOW_SECONDS,
            check=False,
        )
        # 1: a check found something, which is what the demo is made for.
        if run.returncode not in (0, 1) or "Traceback" in run.stderr:
            faults.append(f"$ {one.command}\nended with {run.returncode}: {run.stderr.strip()}")
        faults.extend(f"$ {one.command}\ndid not print: {line}" for line in missing_lines(one, run.stdout + run.stderr))

    assert not faults, "\n\n".join(faults)
