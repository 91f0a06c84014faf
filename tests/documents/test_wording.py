"""Wording is read from files that an office may lay its own over; every fault is named by file and key."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.bootstrap import ROOT
from tests.documents.every import EVERY_PAPER
from wasteledger.documents import PAPERS
from wasteledger.documents.papers import SentContainer
from wasteledger.documents.wording import BadWording, Wording, read_wording

SHIPPED = sorted((ROOT / "templates" / "documents").glob("*.toml"))


def own_file(folder: Path, name: str, text: str) -> Path:
    (folder / "documents").mkdir(exist_ok=True)
    (folder / "documents" / name).write_text(text, encoding="utf-8")
    return folder


def faults_of(folder: Path, document: str) -> tuple[str, ...]:
    with pytest.raises(BadWording) as refusal:
        read_wording(document, own=folder)
    return refusal.value.faults


def test_an_own_file_needs_only_what_it_changes(tmp_path: Path) -> None:
    words = read_wording("manifest", own=own_file(tmp_path, "manifest.toml", '[head]\nnumber = "Transfer"'))

    assert words.text("head.number") == "Transfer"
    assert words.text("head.planned") == "Planned for"


def test_every_fault_of_a_file_is_named_at_once(tmp_path: Path) -> None:
    text = 'titel = "x"\nface = 3\nreprint = "again on {day}"\n[head]\nnumber = "{"\n[parties]\npilot = "x"\n'
    faults = faults_of(own_file(tmp_path, "manifest.toml", text), "manifest")

    file = tmp_path / "documents" / "manifest.toml"
    assert faults == (
        f"{file}: titel is not known here",
        f"{file}: face should be a text, not a number",
        f"{file}: reprint has a place that nothing fills: day",
        f"{file}: head.number: Single '{{' encountered in format string",
        f"{file}: parties.pilot is not known here",
    )


def test_a_file_that_is_no_toml_is_named_with_the_line(tmp_path: Path) -> None:
    (fault,) = faults_of(own_file(tmp_path, "manifest.toml", 'title = "a"\nface = \n'), "manifest")

    assert "manifest.toml cannot be read" in fault
    assert "line 2" in fault


@pytest.mark.parametrize(
    ("columns", "fault"),
    [
        ('[{ field = "mass", heading = "x", share = 1 }]', "there is no field “mass”; there are id, net, stream"),
        ('[{ field = "id", heading = "x", share = 0 }]', "share should be a number above 0"),
        ('[{ field = "id", heading = "x", share = true }]', "share should be a number above 0"),
        ('[{ field = "id", heading = 4, share = 1 }]', "heading should be a text"),
        ('[{ field = "id", heading = "x", share = 1, align = "up" }]', "align one of left, right, center"),
        ('[{ field = "id", heading = "x", share = 1, colour = "red" }]', "colour is not known here"),
        (
            '[{ field = "id", heading = "x", share = 1 }, { field = "id", heading = "y", share = 1 }]',
            "stands there already",
        ),
        ("[1]", "column 1 should be a table"),
        ("[]", "should be a list of columns"),
    ],
)
def test_a_faulty_column_is_named(columns: str, fault: str, tmp_path: Path) -> None:
    words = read_wording("reminder", own=own_file(tmp_path, "reminder.toml", f"columns = {columns}"))

    with pytest.raises(BadWording) as refusal:
        words.columns("columns", SentContainer)
    assert fault in str(refusal.value)
    assert str(tmp_path / "documents" / "reminder.toml") in str(refusal.value)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_shipped_word_judges_the_office(path: Path) -> None:
    """A paper says what a rule asks and what the journal shows; it never says that this is enough."""
    words = path.read_text(encoding="utf-8").lower()

    assert "compliant" not in words
    assert " legal" not in words


def test_every_shipped_word_is_printed_somewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """A key that no document asks for would be a promise to the office that nothing keeps."""
    asked: set[str] = set()
    look_up = Wording._at

    def watched(words: Wording, key: str) -> object:
        asked.add(f"{words.source('').stem}.{key}")
        return look_up(words, key)

    monkeypatch.setattr(Wording, "_at", watched)
    for name, paper, size in EVERY_PAPER:
        PAPERS[name].draw(paper, size)

    unasked = [
        key
        for path in SHIPPED
        if path.stem != "cautions"  # shown by the other doors too
        for key in leaves(tomllib.loads(path.read_text(encoding="utf-8")), path.stem)
        if key not in asked and not key.endswith(".further") and ".sheets." not in key
    ]
    assert unasked == []


def leaves(values: dict[str, object], at: str) -> list[str]:
    found = []
    for name, value in values.items():
        found += leaves(value, f"{at}.{name}") if isinstance(value, dict) else [f"{at}.{name}"]
    return found
