"""What the project holds, by name and by word."""

from __future__ import annotations

import re

import pytest

from tests.bootstrap import ROOT
from tests.shipping.project_files import tracked

ALLOWED = {"README.md", "DEVELOPERS.md", "pyproject.toml", "wasteledger", "templates", "tests", "demo"}

# A wall of brackets keeps this file from finding itself.
NEVER = re.compile(
    r"(?i:[t]ranscript|[s]eed document|[T]ODO\b|[F]IXME\b|[N]otImplementedError|[p]ragma: no cover)"
    r"|\b[X]XX\b|pytest[.]skip|mark[.]skip|mark[.]xfail|[/]work/|[.]{2}/shared"
)
# The federal rule's own name for the report of 40 CFR 441.50(a) is the one place where the word belongs.
# The name of a report, and the address of a source, judge nobody.
JUDGEMENT = re.compile(r"(?is)(?<!one.time.)complian(?:t|ce(?!cosmos\.org))|compliance(?!.report|cosmos\.org)")


def found(words: re.Pattern[str], names: list[str]) -> list[str]:
    """Each line of the files *names* that holds one of *words*; a file that is no text has no lines."""
    places = []
    for name in names:
        try:
            text = (ROOT / name).read_text("utf-8")
        except UnicodeDecodeError:
            continue
        places += [f"{name}:{text.count(chr(10), 0, at.start()) + 1}: {at.group()}" for at in words.finditer(text)]
    return places


def test_the_top_level_holds_what_it_should_and_no_more() -> None:
    entries = {name.partition("/")[0] for name in tracked()}

    assert {entry for entry in entries if not entry.startswith(".")} == ALLOWED


def test_nothing_is_left_unfinished_or_speaks_of_its_making() -> None:
    assert found(NEVER, tracked()) == []


def test_nothing_judges_what_a_local_authority_decides() -> None:
    assert found(JUDGEMENT, tracked("wasteledger", "templates", "demo", "README.md")) == []


@pytest.mark.parametrize("text", ["You are compliant.", "Compliance: 100 %", "non-compliant", "the compliance\nreport"])
def test_a_judgement_is_seen(text: str) -> None:
    assert JUDGEMENT.search(text)


@pytest.mark.parametrize("text", ["the one-time compliance report", "One-Time Compliance\nReport", "complain"])
def test_the_name_of_the_federal_report_passes(text: str) -> None:
    assert not JUDGEMENT.search(text)
