"""The wheel and the sdist hold all they should, and the installed program finds it from another folder."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tests import bootstrap
from tests.bootstrap import ROOT
from tests.shipping.project_files import tracked
from wasteledger import __version__


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sdist, and the wheel that was built from it."""
    folder = tmp_path_factory.mktemp("built")
    command = [sys.executable, "-m", "build", "--outdir", str(folder), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture(scope="session")
def wheel(built: Path) -> Path:
    return next(built.glob("*.whl"))


@pytest.fixture(scope="session")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The programs folder of an environment that holds the wheel and what it asks for, and nothing else."""
    folder = tmp_path_factory.mktemp("an office") / "environment"
    venv.create(folder, with_pip=True)
    python = bootstrap.python_in(folder)
    command = [str(python), "-m", "pip", "install", "--disable-pip-version-check", str(wheel)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return python.parent


def said_by(program: Path, *arguments: str, folder: Path) -> str:
    """What *program* prints when it is started in *folder*; anything but success fails the test."""
    command = [str(program), *arguments]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_sdist_holds_every_file_of_the_project(built: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}

    assert set(tracked()) - held == set()


def test_the_wheel_holds_the_package_the_templates_and_the_demo(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = set(archive.namelist())

    packed = {f"wasteledger/_packed/{name}" for name in tracked("templates", "demo")}
    assert {*tracked("wasteledger"), *packed} - held == set()
    assert {name.partition("/")[0] for name in held} == {"wasteledger", f"wasteledger-{__version__}.dist-info"}


def test_the_installed_program_answers_from_another_folder(installed: Path, tmp_path: Path) -> None:
    assert "Usage: wasteledger" in said_by(installed / "wasteledger", "--help", folder=tmp_path)


def test_the_installed_program_finds_what_was_packed(installed: Path, tmp_path: Path) -> None:
    wanted = tracked("templates")[0]
    script = (
        "from wasteledger import resources\n"
        f"print(resources.find({wanted.removeprefix('templates/')!r}))\n"
        "print(resources.demo_folder())\n"
    )
    template, demo = said_by(installed / "python", "-c", script, folder=tmp_path).splitlines()

    assert Path(template).read_bytes() == (ROOT / wanted).read_bytes()
    for place in (template, demo):
        assert Path(place).resolve().is_relative_to(installed.parent.resolve())
    assert Path(demo, "play.py").is_file()


def test_the_declared_dependencies_suffice_for_every_module(installed: Path, tmp_path: Path) -> None:
    # Migrations are loaded by Alembic alone, and __main__ is the program itself.
    script = (
        "import importlib, pkgutil, wasteledger\n"
        "names = [found.name for found in pkgutil.walk_packages(wasteledger.__path__, 'wasteledger.')]\n"
        "for name in names:\n"
        "    if '.migrations.' not in name and not name.endswith('.__main__'):\n"
        "        importlib.import_module(name)\n"
        "print(*names)\n"
    )
    names = said_by(installed / "python", "-c", script, folder=tmp_path).split()

    assert "wasteledger.resources" in names
    assert "No broken requirements" in said_by(installed / "python", "-m", "pip", "check", folder=tmp_path)
    # The tools of the tests must not be what made it work.
    assert "pytest" not in said_by(installed / "python", "-m", "pip", "list", folder=tmp_path)
