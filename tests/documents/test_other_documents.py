"""The log sheet, the letter for a receipt, and the inspection binder."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader
from pypdf.generic import Destination

from tests.documents import makers
from tests.documents.reading import by_poppler, by_pypdf, layout, pages
from wasteledger.documents import draw_binder, draw_log_sheet, draw_reminder
from wasteledger.documents.papers import BinderPaper, Coverage, Stop
from wasteledger.documents.wording import BadWording
from wasteledger.settings import Paper


@pytest.mark.parametrize("size", list(Paper))
def test_the_round_on_paper_walks_in_order(size: Paper) -> None:
    paper = makers.a_log_sheet()

    printed = draw_log_sheet(paper, size)

    words = [word.text for word in pages(printed.pdf)[0].words]
    traps = [stop.trap for stop in paper.stops]
    assert [word for word in words if word in traps] == traps
    said = by_poppler(printed.pdf)
    for field in (
        "Name in print and initials",
        "Not looked at, reason",
        "Clogged: holes not visible",
        "C-001: Contact amalgam and traps",
        "Never rinse a trap",
        "Notes (no patient names)",
        "entry 1204 of site elm-street",
    ):
        assert field in said, field
    assert printed.pages == 1


def test_each_day_has_a_sheet_of_its_own() -> None:
    printed = draw_log_sheet(makers.a_log_sheet(dates=(date(2026, 3, 9), date(2026, 3, 10))))

    assert printed.pages == 2
    for page, day in zip(layout(printed.pdf).split("\f"), ("9 March 2026", "10 March 2026"), strict=False):
        assert day in page


def test_a_long_round_repeats_its_head_and_day_and_parts_no_room() -> None:
    printed = draw_log_sheet(makers.a_log_sheet(60, dates=(date(2026, 3, 9),)))

    assert printed.pages > 1
    for page in layout(printed.pdf).split("\f")[: printed.pages]:
        assert "9 March 2026" in page
        assert "Damaged" in page
        assert page.count("saliva-ejector trap") == page.count("high-volume trap") > 0


def test_a_room_of_many_traps_is_named_in_every_row() -> None:
    stops = tuple(Stop("Hall", f"T{number}", "saliva-ejector trap") for number in range(50))

    said = by_pypdf(draw_log_sheet(makers.a_log_sheet(stops=stops)).pdf)

    assert said.count("Hall") == 50


def test_nothing_on_the_sheet_offers_to_tick_all_at_once() -> None:
    assert "all clean" not in by_pypdf(draw_log_sheet(makers.a_log_sheet()).pdf).lower()


@pytest.mark.parametrize("size", list(Paper))
def test_the_letter_says_what_left_when_and_what_is_asked_for(size: Paper) -> None:
    said = by_pypdf(draw_reminder(makers.a_reminder(), size).pdf)

    for field in (
        "13 April 2026",
        "Quiet River Carriers",
        "Elm Street Dental",
        "Papers for pickup P-0012, which left us on 12 March 2026",
        "for North Hollow Metals Recovery",
        "That was 32 days ago",
        "C-001 Contact amalgam and traps 812.0 g ± 0.4 g, weighed",
        "C-004 Teeth with amalgam between 20 g and 310 g, estimate",
        "the signed receipt of the receiving facility",
        "11 April 2026: telephone call, no answer",
        "Rosa Lindqvist, Elm Street Dental",
        "page 1 of 1",
    ):
        assert field in said, field


def test_the_letter_speaks_of_one_container_as_one() -> None:
    paper = makers.a_reminder()

    assert "the container listed below" in by_pypdf(draw_reminder(replace(paper, containers=paper.containers[:1])).pdf)


@pytest.mark.parametrize("size", list(Paper))
def test_the_binder_holds_every_section(size: Paper) -> None:
    said = by_pypdf(draw_binder(makers.a_binder(), size).pdf)

    for field in (
        "40 CFR Part 441 (federal), in force from 14 July 2017",
        "Owner Dr. Tomasz Okafor",
        "invented model AS-2",
        "April 2025 191 192 99.4 %",
        "level 35 %, no bypass",
        "tighten inlet clamp",
        "812.0 g ± 0.4 g, weighed",
        "Papers: manifest, entry 1204; receipt, not yet there after 32 days.",
        "Certificate of recycling NH-2025-118.",
        "Final recycling at Example Hill, PA.",
        "inlet hose replaced",
        "Line cleaner, neutral",
        "420 20 Jan 2025 Done Certification, as R-1 of Example Town sewer code asks, due 31 Jan 2025",
        "Report, as R-2 of Example Town sewer code asks, was due 31 Jan 2025",
        "Handling, Spill: Ines Marchetti, Tomasz Okafor",
        "Operating manual, SEP",
        "Does not hold: Capsules recycled. The tub came late.",
        "Spent fixer, 2025-02: 12 kg, estimate, 3 kg on hand",
        "51 times in the period; this is the last one",
        "room 5, trap R5-H, 29.1 g",
        "room 6, trap R6-H, 29.1 g",
        "Room 3 was not looked at on 11 April 2025",
        "1204 entries were checked, from 1 March 2023 to 9 March 2026.",
        "Every digest agrees",
        "Entry 1204 of site elm-street must have the digest",
    ):
        assert field in said, field


def test_contents_and_bookmarks_lead_to_the_pages() -> None:
    pdf = draw_binder(makers.a_binder(400)).pdf
    reader = PdfReader(io.BytesIO(pdf))

    front = layout(pdf).split("\f")[0]
    bookmarks = [mark for mark in reader.outline if isinstance(mark, Destination)]
    assert len(bookmarks) == 14
    for number, mark in enumerate(bookmarks, start=1):
        page = reader.get_destination_page_number(mark)
        assert page is not None
        heading = f"{number}. {mark.title}"
        # Once in the contents, with its page, and once where it stands.
        line = next(line for line in front.splitlines() if heading in line)
        assert line.split()[-1] == str(page + 1)
        assert heading in " ".join((reader.pages[page].extract_text() or "").split())


def test_an_empty_binder_says_that_there_is_nothing() -> None:
    paper = BinderPaper(
        practice=makers.PRACTICE,
        anchor=makers.ANCHOR,
        prepared_at=makers.TUESDAY,
        from_on=date(2026, 1, 1),
        to_on=date(2026, 3, 1),
        verification=makers.a_binder(0).verification,
        coverage=Coverage(0, 0),
    )

    said = by_pypdf(draw_binder(paper).pdf)

    for words in (
        "No rule is set in force",
        "No equipment is registered.",
        "No look was due",
        "No inspection of a separator",
        "Nothing left in this period.",
        "No deposit in this period.",
        "Nothing was filed, trained or stated in this period.",
        "Nothing was corrected",
    ):
        assert words in said, words


def test_a_section_that_there_is_not_is_named(tmp_path: Path) -> None:
    (tmp_path / "documents").mkdir()
    (tmp_path / "documents" / "binder.toml").write_text('sections = ["facility", "poetry"]', encoding="utf-8")

    with pytest.raises(BadWording, match=r"binder\.toml: sections has no “poetry”"):
        draw_binder(makers.a_binder(0), own=tmp_path)
