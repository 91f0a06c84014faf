"""The deposit log: every row once, late and corrected rows marked, coverage with its blanks."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from tests.documents import makers
from tests.documents.reading import by_poppler, by_pypdf, layout, pages
from wasteledger.documents import draw_deposit_log
from wasteledger.documents.papers import Blank, Coverage
from wasteledger.documents.show import share_percent
from wasteledger.settings import Paper


@pytest.mark.parametrize("size", list(Paper))
@pytest.mark.parametrize("read", [by_pypdf, lambda pdf: by_poppler(pdf, "-layout")])
def test_every_field_can_be_read_back(size: Paper, read: object) -> None:
    assert callable(read)
    said = read(draw_deposit_log(makers.a_log(), size).pdf)

    for field in (
        "1 March 2025 to 28 February 2026",
        "Elm Street Dental",
        "2301 of 2304",
        "99.8 %",
        "11 Apr 2025 Room 3 2 room closed, no water",
        "19 Dec 2025 Plant room 1 no reason given",
        "between 210 g and 430 g",
        "24 Feb 2025",
        "3 Mar 2025 17:04 Jørgen Ålund",
        "trap insert, clogged",
        "29.1 g ± 0.2 g",
        "Entered later: 5 Mar 2025, 10:04.",
        "Struck: corrected by entry 111. Typed for the wrong room.",
        "Corrects entry 110. Typed for the wrong room.",
        "Late or paper entries are marked; blanks stay blanks.",
        "page 1 of",
    ):
        assert field in said, field


def test_three_thousand_rows_stand_once_each_under_a_repeated_head() -> None:
    printed = draw_deposit_log(makers.a_log(3000), Paper.A4)

    entries: list[int] = []
    for text in layout(printed.pdf).split("\f")[:-1]:
        rows = re.findall(r"^ *(\d+) +\d{1,2} [A-Z][a-z]{2} 20\d\d +\d\d:\d\d", text, re.MULTILINE)
        found = [int(number) for number in rows]
        entries += found
        assert not found or "Room, trap or source" in text
    assert entries == list(range(100, 3100))
    assert printed.pages == len(pages(printed.pdf)) > 50


def test_a_corrected_row_is_struck_and_the_others_are_not() -> None:
    """Read from the page's drawing commands: a stroked line within the height of the row's own letters."""
    pdf = draw_deposit_log(makers.a_log(12)).pdf
    words = pages(pdf)[0].words
    strokes = stroked_lines(pdf)

    def is_struck(entry: str) -> bool:
        word = next(word for word in words if word.text == entry)
        return any(word.top + 2 < y < word.bottom - 2 and abs(x - word.left) < 1 for x, y in strokes)

    assert is_struck("110")
    assert not any(is_struck(str(entry)) for entry in (100, 101, 109))


def test_blanks_are_listed_by_day_and_room_in_their_order() -> None:
    blanks = tuple(Blank(date(2025, 3, day), f"Room {day % 6 + 1}", 2) for day in range(3, 29))
    coverage = Coverage(948, 1000, blanks)

    said = by_pypdf(draw_deposit_log(makers.a_log(0, coverage=coverage)).pdf)

    assert re.findall(r"(\d+) Mar 2025 Room (\d) 2 no reason given", said) == [
        (str(day), str(day % 6 + 1)) for day in range(3, 29)
    ]
    assert "94.8 %" in said
    assert "Blanks 52" in said


def test_full_coverage_is_said_in_words() -> None:
    said = by_pypdf(draw_deposit_log(makers.a_log(0, coverage=Coverage(10, 10))).pdf)

    assert "100.0 %" in said
    assert "every look that was due was made" in said


def test_an_empty_period_claims_nothing() -> None:
    said = by_pypdf(draw_deposit_log(makers.a_log(0, coverage=Coverage(0, 0), containers=())).pdf)

    assert "none were due" in said
    assert "%" not in said
    assert "No deposit in this period." in said
    assert "No container took anything in this period." in said


@pytest.mark.parametrize(
    ("made", "due", "shown"),
    [(0, 3, "0.0 %"), (1, 3, "33.3 %"), (2, 3, "66.6 %"), (2999, 3000, "99.9 %"), (3000, 3000, "100.0 %")],
)
def test_a_share_is_never_rounded_up(made: int, due: int, shown: str) -> None:
    assert share_percent(made, due) == shown


def test_a_reason_of_two_thousand_letters_is_printed_whole() -> None:
    reason = " ".join(f"word{number}" for number in range(280))
    rows = makers.a_log(3).rows
    paper = makers.a_log(0, rows=(replace(rows[0], corrected_by=200, reason=reason), *rows[1:]))

    assert reason in by_pypdf(draw_deposit_log(paper).pdf)


def stroked_lines(pdf: bytes) -> list[tuple[float, float]]:
    """Left end and height from the top of every horizontal line that is stroked on page 1."""
    reader = PdfReader(io.BytesIO(pdf))
    page = reader.pages[0]
    content = page.get_contents()
    assert content is not None
    start, found = (0.0, 0.0), []
    for operands, operator in ContentStream(content, reader).operations:
        if operator == b"m":
            start = (float(operands[0]), float(operands[1]))
        elif operator == b"l" and float(operands[1]) == start[1]:
            found.append((start[0], float(page.mediabox.height) - start[1]))
    return found
