"""The papers that the command line prints: a file each, the entry it rests on, the same again when printed again."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from tests.doors.conftest import Office


def book(office: Office) -> None:
    """Book a pickup of the container for traps, with something in it."""
    office.did("swap", "1-HV", "--into", "T-1", "-c", "clogged", by="ann")
    office.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-03-09")


def text_of(pdf: bytes) -> str:
    """The words on all pages."""
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


@pytest.mark.parametrize(
    ("words", "file"),
    [
        (("manifest", "P-1"), "manifest-P-1.pdf"),
        (("labels",), "labels.pdf"),
        (("labels", "T-1"), "labels.pdf"),
        (("trap-labels",), "trap-labels.pdf"),
        (("deposit-log", "--from", "2026-03-01"), "deposit-log-2026-03-01-2026-03-02.pdf"),
        (("binder", "--from", "2026-03-01"), "binder-2026-03-01-2026-03-02.pdf"),
        (("pictures",), "pictures-2025-03-03-2026-03-02.pdf"),
        (("pictures", "--from", "2026-02-01", "--to", "2026-03-01"), "pictures-2026-02-01-2026-03-01.pdf"),
        (("log-sheet", "--date", "2026-03-03", "--date", "2026-03-04"), "log-sheet.pdf"),
    ],
    ids=lambda part: " ".join(part) if isinstance(part, tuple) else "",
)
def test_each_paper_is_a_file_of_its_own_name(office: Office, words: tuple[str, ...], file: str) -> None:
    book(office)

    said = office.did("print", *words).said

    printed = (office.folder / file).read_bytes()
    assert printed.startswith(b"%PDF-")
    assert said.startswith(f"{file}: {len(PdfReader(BytesIO(printed)).pages)} page")
    assert not list(office.folder.glob("*.part"))


def test_the_released_manifest_says_the_same_and_agrees_with_the_ledger(office: Office) -> None:
    book(office)
    office.watch.wait(days=7)
    released = office.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes").seq
    first = office.did("print", "manifest", "P-1", "--out", "first.pdf").said
    office.watch.wait(days=200)
    second = office.did("print", "manifest", "P-1", "--out", "second.pdf", "--json").json()

    foot = first.splitlines()[-1].removeprefix("It rests on entry ").rstrip(".")
    assert foot.startswith(f"{released}:")
    assert second["seq"] == released
    assert (office.folder / "first.pdf").read_bytes() == (office.folder / "second.pdf").read_bytes()
    assert f"agrees with the paper {foot}" in office.did("verify", "--paper", foot).said
    printed = text_of((office.folder / "first.pdf").read_bytes())
    assert "T-1" in printed
    assert foot.partition(":")[2][:8] in printed


def test_the_letter_asks_for_what_is_open(office: Office) -> None:
    book(office)
    assert office.run("print", "reminder", "P-1").status == 3
    office.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes")
    office.watch.wait(days=31)

    office.did("print", "reminder", "P-1")

    assert "P-1" in text_of((office.folder / "reminder-P-1.pdf").read_bytes())


def test_pictures_come_as_svg_for_a_page_too(office: Office) -> None:
    book(office)

    said = office.did("print", "pictures", "--svg", "drawn/here").said

    assert {file.name for file in (office.folder / "drawn" / "here").iterdir()} == {"catch.svg", "fullness-T-1.svg"}
    assert str(Path("drawn/here/catch.svg")) in said
    root = ElementTree.parse(office.folder / "drawn" / "here" / "fullness-T-1.svg").getroot()
    assert "T-1" in [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    answer = office.did("print", "pictures", "--svg", "drawn/here", "--container", "T-1", "--json").json()
    assert [Path(file).name for file in answer["also"]] == ["fullness-T-1.svg", "catch.svg"]
    assert office.run("print", "pictures", "--container", "T-9").status == 3


@pytest.mark.parametrize(("size", "width"), [("letter", 612), ("a4", 595)])
def test_the_sheet_is_as_asked_for(office: Office, size: str, width: int) -> None:
    office.did("print", "log-sheet", "--size", size)

    page = PdfReader(BytesIO((office.folder / "log-sheet.pdf").read_bytes())).pages[0]

    # US Letter is 8.5 in wide (612 points of 1/72 in); ISO 216 A4 is 210 mm (595.3 points).
    assert int(page.mediabox.width) == width


def test_a_file_that_cannot_be_written_is_refused(office: Office) -> None:
    answer = office.run("print", "log-sheet", "--out", "no-such-folder/sheet.pdf")

    assert answer.status == 3
    assert "cannot be used" in answer.complained
