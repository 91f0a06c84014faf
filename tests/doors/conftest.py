"""The command line in process: an office on a clock that the test moves, and kept copies that only --rewrite writes."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.makers import Watch
from wasteledger import clock, resources, settings
from wasteledger.cli import app
from wasteledger.office.workplace import Workplace


def pytest_addoption(parser: pytest.Parser) -> None:
    """Kept copies are never rewritten by accident."""
    parser.addoption("--rewrite", action="store_true", help="write the kept copies of texts anew")


@pytest.fixture
def rewrite(request: pytest.FixtureRequest) -> bool:
    """Whether kept copies are to be written anew (the option is known where this folder is named to pytest)."""
    return bool(request.config.getoption("--rewrite", default=False))


@dataclass(slots=True)
class Answer:
    """What a command said and its exit status."""

    status: int
    said: str
    complained: str

    def json(self) -> Any:
        """Standard output, which must be JSON and nothing else."""
        return json.loads(self.said)

    @property
    def seq(self) -> int:
        """The number of the entry that was written."""
        return int(self.said.split(":")[0].removeprefix("Entry "))


@dataclass(slots=True)
class Office:
    """A practice that works through the command line alone; *by* is who records where nobody is named."""

    folder: Path
    watch: Watch
    by: str = "max"
    runner: CliRunner = field(default_factory=CliRunner)

    @property
    def ledger(self) -> Path:
        """The ledger's file."""
        return self.folder / "wasteledger.db"

    def run(self, *arguments: str, by: str | None = None, answers: str | None = None) -> Answer:
        """Run one command; *answers* is what is typed when it asks."""
        environment = {settings.LEDGER: str(self.ledger), settings.BY: by or self.by, "COLUMNS": "80"}
        done = self.runner.invoke(app, list(arguments), input=answers, env=environment, prog_name="wasteledger")
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Answer(done.exit_code, done.stdout, done.stderr)

    def did(self, *arguments: str, by: str | None = None, answers: str | None = None) -> Answer:
        """Run one command that must succeed."""
        answer = self.run(*arguments, by=by, answers=answers)
        assert answer.status == 0, f"{' '.join(arguments)}: {answer.said}{answer.complained}"
        return answer


def _live_by(patch: pytest.MonkeyPatch, watch: Watch) -> None:
    """Let every command take *watch* for the clock."""
    patch.setattr(clock, "now", watch)
    patch.setattr(Workplace, "open", partial(Workplace.open, clock=watch))


@pytest.fixture
def bare_office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Office:
    """A folder without a ledger, on a Monday morning; the clock moves only when the test says so."""
    watch = Watch()
    _live_by(monkeypatch, watch)
    monkeypatch.chdir(tmp_path)
    return Office(tmp_path, watch)


@pytest.fixture(scope="session")
def set_up_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ledger of `office` as it stands after setting up; copied for each test, since setting up takes a while."""
    folder, watch = tmp_path_factory.mktemp("office"), Watch()
    office = Office(folder, watch)
    with pytest.MonkeyPatch.context() as patch:
        _live_by(patch, watch)
        office.did("setup", str(resources.find("practice/starter.toml")))
        watch.wait(hours=1)
        office.did("container", "open", "T-1", "--type", "trap-pail", "--tare", "182.4g", "--place", "Plant room")
    return office.ledger


@pytest.fixture
def office(bare_office: Office, set_up_once: Path) -> Office:
    """The starter plan's practice two hours after it was set up on a Monday morning, with a container for traps."""
    shutil.copyfile(set_up_once, bare_office.ledger)
    bare_office.watch.wait(hours=2)
    return bare_office
