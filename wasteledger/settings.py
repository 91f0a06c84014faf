"""What the environment says about this office: read once by the door, then handed on as one frozen value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from wasteledger.errors import NotUnderstood

LEDGER = "WASTELEDGER_LEDGER"
SITE = "WASTELEDGER_SITE"
BY = "WASTELEDGER_BY"
TEMPLATES = "WASTELEDGER_TEMPLATES"
PAPER = "WASTELEDGER_PAPER"
VARIABLES = (LEDGER, SITE, BY, TEMPLATES, PAPER)


class Paper(StrEnum):
    """The sheet that documents are laid out for."""

    LETTER = "letter"
    A4 = "a4"


class BadSetting(NotUnderstood):
    """An environment variable holds a word that is not read here."""

    code = "bad-setting"

    def __init__(self, variable: str, value: str, accepted: str) -> None:
        super().__init__(f"{variable} is “{value}”, which is not read here.", hint=f"Set it to {accepted}.")
        self.variable, self.value = variable, value


@dataclass(frozen=True, slots=True)
class Settings:
    """One office's settings; each can be overridden by an option of the command.

    Attributes:
        ledger: Path of the ledger's file, or a database URL. Left out of ``repr``: a URL can hold a password.
        site: Which site's journal is meant, where the ledger holds several.
        by: The person who records.
        templates: The office's own folder, laid over the shipped templates.
        paper: The sheet that documents are laid out for.
    """

    ledger: str = field(default="wasteledger.db", repr=False)
    site: str | None = None
    by: str | None = None
    templates: Path | None = None
    paper: Paper = Paper.LETTER


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Read the settings from *environment*; a variable that is blank counts as not set.

    >>> read_settings({"WASTELEDGER_PAPER": "A4"}).paper
    <Paper.A4: 'a4'>

    Raises:
        BadSetting: The paper is neither ``letter`` nor ``a4``.
    """
    said = {name: value.strip() for name, value in environment.items() if value.strip()}
    paper = said.get(PAPER, Settings().paper).lower()
    if paper not in set(Paper):
        raise BadSetting(PAPER, paper, " or ".join(Paper))
    return Settings(
        ledger=said.get(LEDGER, Settings().ledger),
        site=said.get(SITE),
        by=said.get(BY),
        templates=Path(said[TEMPLATES]).expanduser() if TEMPLATES in said else None,
        paper=Paper(paper),
    )
