"""Text, times and readings: what enters a body, and what is refused at the door."""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime, timedelta, timezone

import pytest
from pydantic import ValidationError

from wasteledger.model.entries import Correction, Remark, read_body
from wasteledger.model.values import Party, Reading, read_utc, utc_text


def test_a_time_is_written_in_utc_with_microseconds() -> None:
    chicago = timezone(timedelta(hours=-6))

    assert utc_text(datetime(2026, 3, 2, 8, 0, 0, 5, tzinfo=chicago)) == "2026-03-02T14:00:00.000005Z"


def test_a_time_is_read_back_as_it_was_written() -> None:
    instant = datetime(2026, 11, 1, 6, 30, 0, 123456, tzinfo=UTC)

    assert read_utc(utc_text(instant)) == instant


def test_a_year_before_1000_keeps_its_four_digits() -> None:
    instant = datetime(33, 4, 3, 12, 0, tzinfo=UTC)

    assert utc_text(instant) == "0033-04-03T12:00:00.000000Z"
    assert read_utc(utc_text(instant)) == instant


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-02",
        "2026-03-02T14:00:00Z",
        "2026-03-02T14:00:00.000000",
        "2026-03-02T14:00:00.000000+00:00",
        "2026-03-02 14:00:00.000000Z",
        "2026-3-02T14:00:00.000000Z",
        "2026-02-30T14:00:00.000000Z",
        "2026-03-02T24:00:00.000000Z",
        " 2026-03-02T14:00:00.000000Z",
        "yesterday",
        "",
    ],
)
def test_a_time_in_any_other_form_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        read_utc(text)


def test_text_is_composed_and_trimmed() -> None:
    decomposed = "Zoe\u0308 "

    said = Remark(text=decomposed).text

    assert said == "Zo\u00eb"
    assert unicodedata.is_normalized("NFC", said)


def test_the_reason_of_a_correction_is_composed_like_any_text() -> None:
    reason = Correction(corrects=3, action="void", reason="Zoe\u0308 mixed them up ").reason

    assert reason == "Zo\u00eb mixed them up"


@pytest.mark.parametrize("reason", ["", "no", "   no   "])
def test_a_correction_wants_a_reason(reason: str) -> None:
    with pytest.raises(ValidationError):
        Correction(corrects=3, action="void", reason=reason)


def test_text_that_grows_when_composed_is_measured_afterwards() -> None:
    """U+0958 is two signs in NFC; an entry written so could never be read again."""
    grows = "\u0958" * 1500

    with pytest.raises(ValidationError):
        Remark(text=grows)

    with pytest.raises(ValidationError):
        Party(ref="a", name="\u0958" * 150)


def test_the_longest_text_can_be_read_again() -> None:
    longest = Remark(text="é" * 2000, note="\u0958" * 1000)

    assert read_body("remark", 1, longest.model_dump_json(exclude_none=True)) == longest


@pytest.mark.parametrize("text", ["a\x00b", "a\x1bb", "a\tb", "a\u0085b"])
def test_control_characters_are_refused(text: str) -> None:
    with pytest.raises(ValidationError):
        Remark(text=text)


def test_text_may_have_lines_and_a_line_may_not() -> None:
    assert Remark(text="one\ntwo").text == "one\ntwo"
    for parting in ("\n", "\u2028", "\u2029"):
        with pytest.raises(ValidationError, match="one line"):
            Party(ref="a", name=f"one{parting}two")
    with pytest.raises(ValidationError, match="one line"):
        Party(ref="a", name="one", phone="555\n0100")


def test_half_of_a_surrogate_pair_is_refused() -> None:
    with pytest.raises(ValidationError):
        Remark(text="a\ud800b")


@pytest.mark.parametrize("ref", ["1-HV", "a", "A.b_c-9", "x" * 40])
def test_a_short_name(ref: str) -> None:
    assert Party(ref=ref, name="A").ref == ref


@pytest.mark.parametrize("ref", ["", "-a", "a-", "a b", "a,b", "é", "x" * 41, "a\n", "a/b", "=a"])
def test_no_short_name(ref: str) -> None:
    with pytest.raises(ValidationError):
        Party(ref=ref, name="A")


def test_the_variance_of_a_reading_by_hand() -> None:
    """JCGM 100:2008, 4.3.7: a rectangle of half-width a has the variance a²/3; here a = d/2 and a = t."""
    reading = Reading(mass_mg=1000, readability_mg=10, tolerance_mg=20)

    assert reading.twelfths_mg2 / 12 == pytest.approx(5**2 / 3 + 20**2 / 3)


@pytest.mark.parametrize("mass_mg", [-1, 10**10 + 1, 1.5, True, "1000"])
def test_no_mass(mass_mg: object) -> None:
    with pytest.raises(ValidationError):
        Reading(mass_mg=mass_mg, readability_mg=1, tolerance_mg=1)  # type: ignore[arg-type]
