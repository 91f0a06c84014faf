"""Labels: what stands on them, where they lie on the sheet, and what their codes say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from tests.documents import awkward, makers
from tests.documents.boxes import no_string_leaves_its_box
from tests.documents.reading import Word, by_pypdf, pages, picture
from wasteledger.documents import draw_labels, draw_trap_labels
from wasteledger.documents.label_sheets import NoSuchPlace, Sheet, UnknownSheet, get_sheet
from wasteledger.documents.labels import LabelTooSmall
from wasteledger.documents.papers import LabelsPaper, TrapLabelPaper
from wasteledger.documents.wording import BadWording, read_wording
from wasteledger.settings import Paper

SHEETS = ("single", "half", "2x3")


@pytest.mark.parametrize("size", list(Paper))
@pytest.mark.parametrize("sheet", SHEETS)
def test_every_field_stands_on_the_label(size: Paper, sheet: str) -> None:
    said = by_pypdf(draw_labels(LabelsPaper((makers.a_label(),), sheet), size).pdf)

    for field in (
        "Contact Amalgam Waste for Recycling",
        "Contains mercury. Toxic",
        "Contact amalgam and traps",
        "whole traps, dry",
        "C-001",
        "2 L wide-mouth jar",
        "Elm Street Dental",
        "14 Elm Street, Suite 2",
        "Phone 555-0114",
        "2 September 2025",
        "Closed on (fill in by hand)",
        "Do not heat amalgam",
        "Not in the red bag",
        "Keep the lid on.",
        "Keep dry. Add no water",
        "Store away from heat.",
        "Local codes and licensed handlers decide.",
        f"Site elm-street · entry 1204 · {makers.ANCHOR.digest[:8]} {makers.ANCHOR.digest[8:16]}",
    ):
        assert field in said, field


def test_a_day_that_is_not_known_is_a_line_to_fill_in() -> None:
    said = by_pypdf(draw_labels(LabelsPaper((makers.a_label(first_waste_on=None),))).pdf)

    assert "First waste in (fill in by hand)" in said


@pytest.mark.parametrize("size", list(Paper))
@pytest.mark.parametrize("sheet", SHEETS)
def test_each_label_keeps_to_its_own_place(size: Paper, sheet: str) -> None:
    """Each word's box, as poppler measures it, lies within one label."""
    form = get_sheet(read_wording("label"), sheet, size)
    labels = tuple(makers.a_label(container=f"C-{number:03}") for number in range(1, form.places + 1))

    read = pages(draw_labels(LabelsPaper(labels, sheet), size).pdf)

    assert len(read) == 1
    for word in read[0].words:
        assert any(lies_within(word, *form.place(number), form) for number in range(form.places)), word


def test_a_begun_sheet_can_be_used_up() -> None:
    labels = tuple(makers.a_label(container=f"C-{number:03}") for number in range(1, 4))

    printed = draw_labels(LabelsPaper(labels, "2x3", first_place=5))
    first, second = pages(printed.pdf)

    assert printed.pages == 2
    assert [word.text for word in first.words if word.text.startswith("C-")] == ["C-001", "C-002"]
    assert min(word.top for word in first.words) > first.height / 2
    assert [word.text for word in second.words if word.text.startswith("C-")] == ["C-003"]


@pytest.mark.parametrize("place", [0, 7])
def test_a_place_off_the_sheet_is_refused(place: int) -> None:
    with pytest.raises(NoSuchPlace, match=f"no place {place}"):
        draw_labels(LabelsPaper((makers.a_label(),), "2x3", place))


def test_an_unknown_sheet_is_refused_with_those_there_are() -> None:
    with pytest.raises(UnknownSheet) as refusal:
        draw_labels(LabelsPaper((makers.a_label(),), "9x9"))
    assert "2x3" in refusal.value.hint


def test_an_office_describes_its_own_sheet(tmp_path: Path) -> None:
    own_label_wording(tmp_path, width_mm=80)

    printed = draw_labels(LabelsPaper((makers.a_label(),) * 5, "ours"), Paper.A4, own=tmp_path)

    assert printed.pages == 2


def test_a_sheet_wider_than_its_page_is_named(tmp_path: Path) -> None:
    own_label_wording(tmp_path, width_mm=120)

    with pytest.raises(BadWording, match=r"label\.toml: sheets\.a4\.ours: its labels do not fit"):
        draw_labels(LabelsPaper((makers.a_label(),), "ours"), Paper.A4, own=tmp_path)


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("name", [name for name in awkward.NAMED if len(name) <= 250])
def test_awkward_names_stay_inside_the_label(name: str, sheet: str) -> None:
    practice = replace(makers.PRACTICE, name=name, address=(name, name))
    label = makers.a_label(practice=practice, contents=name)

    with no_string_leaves_its_box():
        printed = draw_labels(LabelsPaper((label,), sheet))

    form = get_sheet(read_wording("label"), sheet, Paper.LETTER)
    left, top = form.place(0)
    for word in pages(printed.pdf)[0].words:
        assert lies_within(word, left, top, form), word


def test_words_of_an_ordinance_are_never_cut_to_fit() -> None:
    label = makers.a_label(words=(awkward.LONG_NAME,) * 12)

    with pytest.raises(LabelTooSmall, match="C-001"):
        draw_labels(LabelsPaper((label,), "2x3"))


@pytest.mark.parametrize("size", list(Paper))
def test_the_code_on_a_trap_label_names_the_trap(size: Paper, tmp_path: Path) -> None:
    """Read from the picture by ZXing, which did not write it."""
    paper = makers.trap_labels(14)

    printed = draw_trap_labels(paper, size)
    with Image.open(picture(printed.pdf, tmp_path)) as image:
        found = zxingcpp.read_barcodes(image.convert("L"))

    assert sorted(code.text for code in found) == sorted(label.code for label in paper.labels)
    said = by_pypdf(printed.pdf)
    for label in paper.labels:
        assert f"{label.trap} {label.room} {label.kind}" in said
    assert "Never rinse a trap, screen or filter at a sink." in said


def test_a_long_address_in_a_code_can_be_read(tmp_path: Path) -> None:
    address = "https://amalgam.elm-street.example.org/traps/R1-S"
    paper = replace(makers.trap_labels(1), labels=(TrapLabelPaper("R1-S", "1", "saliva-ejector trap", address),))

    with Image.open(picture(draw_trap_labels(paper).pdf, tmp_path, 200)) as image:
        assert [code.text for code in zxingcpp.read_barcodes(image.convert("L"))] == [address]


def test_the_longest_site_name_leaves_the_digest_whole() -> None:
    anchor = replace(makers.ANCHOR, site="elm-street-" + "x" * 29)

    with no_string_leaves_its_box():
        said = by_pypdf(draw_trap_labels(replace(makers.trap_labels(1), anchor=anchor)).pdf)

    assert f"{anchor.digest[:8]} {anchor.digest[8:16]}" in said


def test_a_trap_label_without_room_is_refused() -> None:
    paper = replace(makers.trap_labels(1), labels=(TrapLabelPaper("R1-S", "1", awkward.WIDE * 3, "R1-S"),))

    with pytest.raises(LabelTooSmall, match="R1-S"):
        draw_trap_labels(paper)


def lies_within(word: Word, left: float, top: float, form: Sheet) -> bool:
    across = left <= word.left and word.right <= left + form.width
    return across and top <= word.top and word.bottom <= top + form.height


def own_label_wording(folder: Path, width_mm: int) -> None:
    (folder / "documents").mkdir()
    (folder / "documents" / "label.toml").write_text(
        f"[sheets.a4.ours]\ncolumns = 2\nrows = 2\nwidth_mm = {width_mm}\nheight_mm = 90\n"
        "left_mm = 10\ntop_mm = 10\ngap_x_mm = 2\ngap_y_mm = 2\n",
        encoding="utf-8",
    )
