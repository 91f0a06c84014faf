"""Which characters are drawn, in what order, and what is said of those that no face has."""

from __future__ import annotations

import io
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder  # type: ignore[import-untyped]
from fontTools.pens.ttGlyphPen import TTGlyphPen  # type: ignore[import-untyped]
from pypdf import PdfReader

from tests.documents import awkward, makers
from tests.documents.reading import by_poppler, by_pypdf
from wasteledger.documents import draw_manifest
from wasteledger.documents.fonts import BadFont, Typefaces, code_digits, typefaces
from wasteledger.documents.pages import Printed


def printed_with(name: str, *, own: Path | None = None) -> Printed:
    return draw_manifest(makers.a_manifest(remark=f"[{name}]"), own=own)


@pytest.mark.parametrize("name", [awkward.VIETNAMESE, awkward.GREEK, awkward.CYRILLIC, "Łódź Ğüneş Þórr Ærø Škoda ñ"])
def test_names_in_latin_greek_and_cyrillic_are_read_back(name: str) -> None:
    printed = printed_with(name)

    assert f"[{name}]" in by_pypdf(printed.pdf)
    assert f"[{name}]" in by_poppler(printed.pdf)
    assert printed.findings == ()


def test_decomposed_letters_are_drawn_as_one() -> None:
    composed = unicodedata.normalize("NFC", awkward.VIETNAMESE_DECOMPOSED)

    assert f"[{composed}]" in by_pypdf(printed_with(awkward.VIETNAMESE_DECOMPOSED).pdf)


@pytest.mark.parametrize("name", [awkward.ARABIC, awkward.HEBREW])
def test_names_from_right_to_left_are_read_back_in_reading_order(name: str) -> None:
    """Poppler turns what it finds on the page back into reading order; joined letters are compatibility forms."""
    printed = printed_with(name)

    back = unicodedata.normalize("NFKC", by_poppler(printed.pdf))
    back = "".join(sign for sign in back if unicodedata.category(sign) != "Cf")
    assert name in back
    assert printed.findings == ()


def test_arabic_letters_are_joined() -> None:
    """Three times beh: its initial, medial and final form (Unicode, Arabic Presentation Forms-B), drawn leftwards."""
    faces = typefaces()

    runs = faces.runs(faces.prepare("\u0628\u0628\u0628"))

    assert "".join(run.text for run in runs) == "\ufe90\ufe92\ufe91"


def test_without_the_extra_for_scripts_letters_from_right_to_left_are_boxed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn in the wrong order they would be a wrong name; boxes and a finding are at least honest."""
    monkeypatch.setattr("wasteledger.documents.fonts._has", lambda module: False)

    faces = Typefaces()

    assert faces.uncovered("Łódź " + awkward.HEBREW) == "".join(dict.fromkeys(awkward.HEBREW.replace(" ", "")))
    assert faces.uncovered(awkward.VIETNAMESE + awkward.GREEK + awkward.CYRILLIC) == ""


def test_a_character_that_no_face_has_is_boxed_and_reported() -> None:
    printed = printed_with("中 and 😀")

    read = by_pypdf(printed.pdf)
    for sign in "中😀":
        for digits in code_digits(sign):
            assert digits in read
    assert len(printed.findings) == 1
    assert printed.findings[0].startswith("uncovered characters: 中 (U+4E2D), 😀 (U+1F600).")
    assert typefaces().uncovered("a中b中😀") == "中😀"


@pytest.mark.parametrize("sign", ["\ud800", "\x00", "\x1b"])
def test_what_is_no_character_is_boxed_too(sign: str) -> None:
    printed = draw_manifest(makers.a_manifest(practice=replace(makers.PRACTICE, name=f"a{sign}b")))

    assert f"U+{ord(sign):04X}" in printed.findings[0]
    metadata = PdfReader(io.BytesIO(printed.pdf)).metadata
    assert metadata is not None
    assert metadata.author == "a\ufffdb"


def test_invisible_direction_signs_leave_no_mark() -> None:
    assert "[ab]" in by_pypdf(printed_with("a\u202eb").pdf)


def test_figures_are_all_of_one_width() -> None:
    faces = typefaces()

    for bold in (False, True):
        assert len({faces.width(figure, 10, bold=bold) for figure in "0123456789"}) == 1


def test_an_office_may_add_a_font(tmp_path: Path) -> None:
    """A character that nothing shipped has is drawn from the office's own file."""
    fonts = tmp_path / "documents" / "fonts"
    fonts.mkdir(parents=True)
    a_font_with("中", fonts / "own.ttf")

    printed = printed_with("中", own=tmp_path)

    assert printed.findings == ()
    assert "中" in by_pypdf(printed.pdf)
    assert "中" in by_poppler(printed.pdf)


def test_a_file_that_is_no_font_is_named(tmp_path: Path) -> None:
    fonts = tmp_path / "documents" / "fonts"
    fonts.mkdir(parents=True)
    (fonts / "broken.ttf").write_bytes(b"no font at all, only words")

    with pytest.raises(BadFont, match=r"broken\.ttf"):
        printed_with("x", own=tmp_path)


def a_font_with(sign: str, path: Path) -> None:
    """A TrueType font that has one letter, a square."""
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    for corner in ((100, 700), (800, 700), (800, 0)):
        pen.lineTo(corner)
    pen.closePath()
    square = pen.glyph()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "space", "square"])
    builder.setupCharacterMap({0x20: "space", ord(sign): "square"})
    builder.setupGlyf({".notdef": square, "space": TTGlyphPen(None).glyph(), "square": square})
    builder.setupHorizontalMetrics({".notdef": (900, 100), "space": (300, 0), "square": (900, 100)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Office Own", "styleName": "Regular", "psName": "OfficeOwn-Regular"})
    builder.setupOS2(sTypoAscender=800, fsType=0)
    builder.setupPost()
    builder.save(path)
