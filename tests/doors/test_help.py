"""The help of every command against its kept copy, and the words that its options take against the model's."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
import typer.main
from typer.testing import CliRunner

from tests.bootstrap import ROOT
from wasteledger.cli import app, choices
from wasteledger.model import entries as kinds
from wasteledger.model.register import Details, Role
from wasteledger.model.traps import Condition
from wasteledger.settings import Paper

KEPT = Path(__file__).parent / "kept"


def commands(group: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The path of every command and group of commands, the whole program's being empty."""
    yield path
    for name, command in getattr(group, "commands", {}).items():
        yield from commands(command, (*path, name))


def leaves(group: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command that does something, by its path."""
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from leaves(command, (*path, name))
        else:
            yield (*path, name), command


WHOLE = typer.main.get_command(app)
PATHS = list(commands(WHOLE))
# What works on a ledger as a whole, or without one.
WITHOUT_SITE = {("setup",), ("demo",), ("import",), ("backup",), ("restore",)}


def kept_file(path: tuple[str, ...]) -> Path:
    """Where the kept copy of a command's help stands."""
    return KEPT / f"{'-'.join(('help', *path))}.txt"


@pytest.mark.parametrize("path", PATHS, ids=lambda path: " ".join(path) or "whole")
def test_help_says_what_it_said(path: tuple[str, ...], rewrite: bool) -> None:
    done = CliRunner().invoke(app, [*path, "--help"], prog_name="wasteledger", env={"COLUMNS": "80"})
    assert done.exit_code == 0
    if rewrite:
        kept_file(path).write_text(done.stdout, "utf-8", newline="\n")

    assert done.stdout == kept_file(path).read_text("utf-8")


def test_no_copy_is_kept_of_a_command_that_is_gone() -> None:
    assert {file.name for file in KEPT.glob("help*.txt")} == {kept_file(path).name for path in PATHS}


def test_help_of_the_installed_program_is_the_same() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wasteledger", "--help"],
        cwd=ROOT,
        # A console leaves two columns free; the runner of the tests above does not.
        env={**os.environ, "COLUMNS": "82", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )

    assert done.stdout == kept_file(()).read_text("utf-8")


@pytest.mark.parametrize(
    ("path", "command"), list(leaves(WHOLE)), ids=lambda part: " ".join(part) if isinstance(part, tuple) else ""
)
def test_every_command_takes_the_common_options(path: tuple[str, ...], command: Any) -> None:
    options = {option for parameter in command.params for option in parameter.opts}

    assert command.help
    if path in WITHOUT_SITE:
        return
    assert {"--ledger", "--site"} <= options
    if path != ("round",):
        assert "--json" in options
    # What writes says who, when and with which key; the round is answered key by key and so has no key of its own.
    if "--by" in options:
        assert {"--at", "--note"} <= options
        assert "--key" in options or path == ("round",)


def literals(kind: type[Any], field: str) -> set[str]:
    """The words that a field of an entry's body takes."""
    return set(get_args(kind.model_fields[field].annotation))


def test_options_take_the_words_of_the_model() -> None:
    details = get_args(get_args(Details)[0])
    assert [word.value for word in choices.Seen] == [word.value for word in Condition]
    assert [word.value for word in choices.PersonRole] == [word.value for word in Role]
    assert [word.value for word in choices.Size] == [word.value for word in Paper]
    assert {word.value for word in choices.Part} == {one.model_fields["subject"].default for one in details}
    assert {word.value for word in choices.Why} == literals(kinds.ContainerClosed, "why")
    assert {word.value for word in choices.Proof} == literals(kinds.Receipt, "proves")
    assert {word.value for word in choices.Event} == literals(kinds.Milestone, "what")
    assert {word.value for word in choices.RepairAction} == literals(kinds.Repair, "action")
    results = {word.value.replace("-", " ") for word in choices.InspectionResult}
    assert results == literals(kinds.SeparatorInspection, "result")
