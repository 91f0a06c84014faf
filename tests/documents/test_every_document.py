"""What holds for every document: the same bytes again, both page sizes, no text outside its box or over another."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from tests.bootstrap import ROOT
from tests.documents import awkward, makers, pictured
from tests.documents.awkward import awkward_text
from tests.documents.boxes import no_string_leaves_its_box
from tests.documents.every import EVERY_PAPER
from tests.documents.reading import Page, Word, by_pypdf, pages
from wasteledger.documents import PAPERS
from wasteledger.documents.pages import BOTTOM, MARGIN
from wasteledger.documents.papers import (
    Anchor,
    BadPaper,
    Coverage,
    DepositLogPaper,
    LogSheetPaper,
    ManifestPaper,
    Party,
    ReminderPaper,
    Stop,
)
from wasteledger.settings import Paper

# Page sizes in points: 8.5 by 11 inches (ANSI/ASME Y14.1), 210 by 297 mm (ISO 216).
SIZES = {Paper.LETTER: (612.0, 792.0), Paper.A4: (210 / 25.4 * 72, 297 / 25.4 * 72)}
IDS = [f"{name}-{number}-{size}" for number, (name, _, size) in enumerate(EVERY_PAPER)]
DRAWN_IN_A_NEW_PROCESS = """
import hashlib
from tests.documents.every import EVERY_PAPER
from wasteledger.documents import PAPERS
for name, paper, size in reversed(EVERY_PAPER):
    print(hashlib.sha256(PAPERS[name].draw(paper, size).pdf).hexdigest())
"""


@pytest.mark.parametrize(("name", "paper", "size"), EVERY_PAPER, ids=IDS)
def test_the_file_is_sound_and_says_what_it_is(name: str, paper: Any, size: Paper) -> None:
    printed = PAPERS[name].draw(paper, size)
    reader = PdfReader(io.BytesIO(printed.pdf), strict=True)

    assert len(reader.pages) == printed.pages
    for page in reader.pages:
        width, height = SIZES[size]
        assert float(page.mediabox.width) == pytest.approx(width, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(height, abs=0.01)
    assert reader.metadata is not None
    assert reader.metadata.title
    assert str(reader.root_object["/Lang"]) == "en-US"
    assert printed.findings == ()


def test_the_same_paper_gives_the_same_bytes_also_in_another_process() -> None:
    """In the other process the documents are drawn in another order, and sets are ordered otherwise."""
    here = [hashlib.sha256(PAPERS[name].draw(paper, size).pdf).hexdigest() for name, paper, size in EVERY_PAPER]
    again = [hashlib.sha256(PAPERS[name].draw(paper, size).pdf).hexdigest() for name, paper, size in EVERY_PAPER]

    environment = {**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    command = [sys.executable, "-c", DRAWN_IN_A_NEW_PROCESS]
    there = subprocess.run(
        command, cwd=ROOT, env=environment, check=True, capture_output=True, text=True, timeout=120
    ).stdout.split()

    assert again == here
    assert there[::-1] == here


@pytest.mark.parametrize(("name", "paper", "size"), EVERY_PAPER, ids=IDS)
def test_no_word_lies_over_another_or_in_the_margin(name: str, paper: Any, size: Paper) -> None:
    printed = PAPERS[name].draw(paper, size)

    for page in pages(printed.pdf):
        assert overlapping(page) == []
        edge = 0.0 if "labels" in name else MARGIN - 1
        for word in page.words:
            assert word.left >= edge
            assert word.right <= page.width - edge
            assert word.bottom <= page.height - (0 if "labels" in name else BOTTOM - 3)


@pytest.mark.parametrize("size", list(Paper))
@pytest.mark.parametrize("awkward_name", awkward.NAMED, ids=range(len(awkward.NAMED)))
def test_awkward_names_keep_to_their_boxes(awkward_name: str, size: Paper) -> None:
    """Names as long as the journal takes them, 200 signs, and remarks of up to 2,000."""
    for name, paper in papers_with(awkward_name[:200], awkward_name):
        with no_string_leaves_its_box():
            printed = PAPERS[name].draw(paper, size)
        for page in pages(printed.pdf):
            assert overlapping(page) == []


@given(awkward_text(), awkward_text(2000))
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
def test_no_string_leaves_its_box(name: str, remark: str) -> None:
    for kind, paper in papers_with(name, remark):
        with no_string_leaves_its_box():
            PAPERS[kind].draw(paper, Paper.LETTER)


@given(st.integers(0, 45), st.integers(1, 3))
@settings(max_examples=15)
def test_any_number_of_containers_stands_once_each(count: int, lines: int) -> None:
    containers = tuple(
        makers.a_container(number, contents="\n".join(["dry"] * lines)) for number in range(1, count + 1)
    )

    said = by_pypdf(PAPERS["manifest"].draw(makers.a_manifest(containers=containers)).pdf)

    for number in range(1, count + 1):
        assert said.count(f" C-{number:03} ") == 1


def test_the_watch_over_boxes_sees_a_string_that_is_too_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wasteledger.documents.blocks.wrap", lambda text, width, style, faces: (text,))

    with pytest.raises(AssertionError, match="wide in a box of"), no_string_leaves_its_box():
        PAPERS["manifest"].draw(makers.a_manifest(remark=awkward.WIDE))


def test_words_over_each_other_are_found() -> None:
    one, other = Word("one", 10, 10, 30, 20), Word("other", 25, 12, 60, 22)

    assert len(overlapping(Page(100, 100, (one, other)))) == 1
    assert overlapping(Page(100, 100, (one, replace(other, left=31)))) == []


def test_a_paper_of_the_wrong_kind_is_refused() -> None:
    with pytest.raises(TypeError, match="ManifestPaper is wanted, not ReminderPaper"):
        PAPERS["manifest"].draw(makers.a_reminder())


@pytest.mark.parametrize(("seq", "digest"), [(0, "0" * 64), (1, "0" * 63), (1, "G" * 64), (1, "A" * 64)])
def test_no_paper_rests_on_what_cannot_be_an_entry(seq: int, digest: str) -> None:
    with pytest.raises(BadPaper):
        Anchor("elm-street", seq, digest)


def test_importing_the_documents_loads_no_pdf_library() -> None:
    program = "import sys, wasteledger.documents, wasteledger.documents.papers; print('reportlab' in sys.modules)"

    told = subprocess.run([sys.executable, "-c", program], cwd=ROOT, check=True, capture_output=True, text=True)

    assert told.stdout.strip() == "False"


def papers_with(name: str, remark: str = "") -> list[tuple[str, Any]]:
    """One paper of each flowing kind that says *name* wherever a name can stand."""
    party = Party(name, (name, name), phone=name, contact=name, ids=((name, name),))
    container = makers.a_container(1, id=name, kind=name, stream=name, contents=name, condition=name, remark=remark)
    manifest: ManifestPaper = makers.a_manifest(
        containers=(container, makers.a_container(2)),
        practice=party,
        carrier=party,
        facility=party,
        number=name,
        prepared_by=name,
        emergency_contact=name,
        ordinances=(name,),
        cautions=(name,),
        remark=remark or name,
    )
    row = replace(makers.a_log(1).rows[0], person=name, place=name, what=name, container=name, reason=remark or name)
    log: DepositLogPaper = makers.a_log(
        rows=(row, replace(row, corrected_by=7)), practice=party, coverage=Coverage(1, 2), containers=()
    )
    sheet: LogSheetPaper = makers.a_log_sheet(
        practice=name, stops=(Stop(name, name, name), Stop("2", "B", "pump")), containers=((name, name),)
    )
    letter: ReminderPaper = makers.a_reminder(practice=party, to=party, facility=party, signer=name, number=name)
    corrections = tuple(replace(row, before=remark, after=name) for row in makers.a_binder(0).corrections)
    binder = makers.a_binder(2, practice=party, rules=(name,), findings=(name, remark), corrections=corrections)
    return [
        ("manifest", manifest),
        ("deposit-log", log),
        ("log-sheet", sheet),
        ("reminder", letter),
        ("binder", binder),
        ("pictures", pictured.a_paper(pictured.named(name), practice=party)),
    ]


def overlapping(page: Page) -> list[tuple[Word, Word]]:
    """Pairs of words whose letters lie over each other; only the middle of poppler's tall boxes."""
    rows: dict[int, list[Word]] = {}
    for word in page.words:
        third = (word.bottom - word.top) / 3
        slim = Word(word.text, word.left + 0.3, word.top + third, word.right - 0.3, word.bottom - third)
        if slim.right > slim.left:
            for band in range(int(slim.top // 20), int(slim.bottom // 20) + 1):
                rows.setdefault(band, []).append(slim)
    return [
        (one, other)
        for words in rows.values()
        for one, other in combinations(words, 2)
        if min(one.right, other.right) > max(one.left, other.left)
        and min(one.bottom, other.bottom) > max(one.top, other.top)
    ]
