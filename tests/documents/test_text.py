"""Breaking text into lines: nothing is lost, nothing is too wide, figures keep their units."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.documents.awkward import awkward_text
from wasteledger.documents.fonts import typefaces
from wasteledger.documents.text import ELLIPSIS, Style, clamp, size_that_fits, wrap

FACES = typefaces()
PLAIN = Style(8, 10)


def letters(text: str) -> str:
    """What must still be there after breaking: everything but spaces, line ends and signs without a shape."""
    return "".join(sign for sign in FACES.prepare(text) if sign not in " \n")


@given(awkward_text(), st.floats(20, 400), st.sampled_from((PLAIN, Style(10, 12, bold=True))))
def test_breaking_loses_no_letter_and_fits(text: str, width: float, style: Style) -> None:
    lines = wrap(text, width, style, FACES)

    assert "".join("".join(line.split(" ")) for line in lines) == letters(text)
    for line in lines:
        clusters = [sign for sign in line if not unicodedata.combining(sign)]
        assert FACES.width(line, style.size, bold=style.bold) <= width + 1e-6 or len(clusters) <= 1


def test_line_ends_are_kept() -> None:
    assert wrap("one\ntwo\n\nfour", 200, PLAIN, FACES) == ("one", "two", "", "four")


@pytest.mark.parametrize("text", ["between 20 g and 310 g", "812.0 g ± 0.4 g", "from 1.2 kg to 3.4 kg"])
def test_a_number_stays_with_its_unit(text: str) -> None:
    for width in range(70, 160):
        for line in wrap(text, width, PLAIN, FACES):
            first = line.split(" ")[0]
            assert first not in ("g", "kg", "±"), f"{line!r} at {width} pt"


def test_a_mass_too_wide_for_its_box_breaks_at_a_space() -> None:
    assert wrap("812.0 g ± 0.4 g", 42, PLAIN, FACES) == ("812.0 g", "± 0.4 g")


def test_a_pickup_number_is_not_broken_where_it_fits_on_a_line_of_its_own() -> None:
    assert wrap("left with P-0012", 40, PLAIN, FACES)[-1] == "P-0012"


def test_han_may_break_after_any_sign() -> None:
    lines = wrap("中文診所" * 5, 40, PLAIN, FACES)

    assert len(lines) > 1
    assert "".join(lines) == "中文診所" * 5


@given(awkward_text(), st.integers(1, 3), st.floats(30, 200))
def test_what_is_cut_ends_in_an_ellipsis_and_fits(text: str, most: int, width: float) -> None:
    whole = wrap(text, width, PLAIN, FACES)

    cut = clamp(whole, most, width, PLAIN, FACES)

    assert len(cut) <= max(most, 1)
    if len(whole) > most:
        assert cut[-1].endswith(ELLIPSIS)
        assert FACES.width(cut[-1], PLAIN.size) <= width + 1e-6
    else:
        assert cut == whole


@given(awkward_text(60), st.floats(30, 300))
def test_a_size_that_fits_fits_or_is_the_least(text: str, width: float) -> None:
    style = size_that_fits(text, width, Style(20, 24), 6, FACES)

    assert 6 - 1e-9 <= style.size <= 20
    assert style.size <= 6 + 1e-9 or FACES.width(FACES.prepare(text), style.size) <= width + 1e-6
