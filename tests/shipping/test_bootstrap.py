"""The two commands of a fresh clone: the old Python, the interrupted installation, the second start."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

from tests import bootstrap
from tests.bootstrap import ROOT

STARTED_FIRST = ["demo/__main__.py", "tests/__main__.py", "tests/bootstrap.py"]


class House:
    """A checkout in a folder of its own, whose environments are made without pip; *done* lists what was asked for."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.done: list[str] = []
        self.interrupted = False
        self.project("one")

    def project(self, text: str) -> None:
        (self.root / "pyproject.toml").write_text(text)

    def make(self, folder: Path) -> None:
        self.done.append("make")
        python = bootstrap.python_in(folder)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()

    def install(self, python: Path, extra: str, log: Path) -> None:
        self.done.append(f"install {extra}".strip())
        if self.interrupted:
            raise KeyboardInterrupt

    def ready(self, extra: str) -> list[str]:
        """What making an environment with *extra* ready took this time."""
        self.done.clear()
        bootstrap.ready(extra)
        return list(self.done)


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> House:
    root = tmp_path / "a check out"
    root.mkdir()
    built = House(root)
    monkeypatch.setattr(bootstrap, "ROOT", root)
    monkeypatch.setattr(bootstrap, "_make", built.make)
    monkeypatch.setattr(bootstrap, "_install", built.install)
    return built


@pytest.mark.parametrize("name", STARTED_FIRST)
def test_an_old_python_can_read_as_far_as_the_sentence(name: str) -> None:
    tree = ast.parse((ROOT / name).read_text("utf-8"), feature_version=(3, 6))

    # Python 3.6 refuses the annotations of the future before it runs a line.
    assert "__future__" not in {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}


@pytest.mark.parametrize("command", ["demo", "tests"])
def test_an_old_python_gets_one_sentence(command: str) -> None:
    pretend = (
        "import runpy, sys; sys.version_info = (3, 9, 18); sys.version = '3.9.18 (pretended)'; "
        f"runpy.run_path({str(ROOT / command)!r}, run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", pretend], capture_output=True, text=True, check=False)

    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.startswith("wasteledger needs Python 3.11 or newer")
    assert "is Python 3.9.18" in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_python_without_ensurepip_gets_the_name_of_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)

    with pytest.raises(bootstrap.NotReady, match=r"apt install python3\.\d+-venv"):
        bootstrap._make(tmp_path / ".venv")


def test_the_second_start_does_nothing(house: House) -> None:
    assert house.ready(bootstrap.DEV) == ["make", "install dev"]
    assert house.ready(bootstrap.DEV) == []
    assert house.ready(bootstrap.RUNTIME) == []  # the tools of the tests do not stand in the demo's way


def test_the_tools_of_the_tests_are_added_to_what_the_demo_made(house: House) -> None:
    assert house.ready(bootstrap.RUNTIME) == ["make", "install"]
    assert house.ready(bootstrap.DEV) == ["install dev"]
    assert house.ready(bootstrap.DEV) == []


def test_a_changed_project_file_makes_it_anew(house: House) -> None:
    house.ready(bootstrap.DEV)
    house.project("two")

    assert house.ready(bootstrap.DEV) == ["make", "install dev"]


def test_another_python_makes_it_anew(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    house.ready(bootstrap.DEV)
    monkeypatch.setattr(sys, "version", "3.99.0 (another)")

    assert house.ready(bootstrap.DEV) == ["make", "install dev"]


def test_a_python_that_is_gone_makes_it_anew(house: House) -> None:
    house.ready(bootstrap.DEV)
    bootstrap.python_in(house.root / ".venv").unlink()

    assert house.ready(bootstrap.DEV) == ["make", "install dev"]


@pytest.mark.parametrize("before", [None, bootstrap.RUNTIME], ids=["from nothing", "over the demo's"])
def test_an_interrupted_installation_is_made_anew(house: House, before: str | None) -> None:
    if before is not None:
        house.ready(before)
    house.interrupted = True
    with pytest.raises(KeyboardInterrupt):
        house.ready(bootstrap.DEV)
    house.interrupted = False

    assert house.ready(bootstrap.DEV) == ["make", "install dev"]
    assert house.ready(bootstrap.DEV) == []


def test_a_checkout_that_cannot_be_written_uses_the_cache(
    house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A file where the folder should be stops even an administrator, whom permissions do not.
    (house.root / ".venv").touch()
    for variable in ("HOME", "USERPROFILE", "LOCALAPPDATA", "XDG_CACHE_HOME"):
        monkeypatch.setenv(variable, str(tmp_path / "mine"))

    assert house.ready(bootstrap.DEV) == ["make", "install dev"]
    assert bootstrap.environment_folder().is_relative_to(tmp_path / "mine")
    assert house.ready(bootstrap.DEV) == []


def test_a_failed_installation_shows_what_pip_said_and_keeps_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)  # an empty folder is no project

    with pytest.raises(bootstrap.NotReady, match=r"(?s)not appear to be a Python project.*install\.log"):
        bootstrap._install(Path(sys.executable), bootstrap.RUNTIME, tmp_path / "install.log")

    assert "not appear to be a Python project" in (tmp_path / "install.log").read_text()
