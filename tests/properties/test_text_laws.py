"""Laws of what enters a body: whatever is taken can be written, hashed and read again, and nothing else is raised."""

from __future__ import annotations

import json
import unicodedata
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.makers import a_reading
from tests.properties.strategies import awkward_text, bodies, masses
from wasteledger.errors import WasteLedgerError
from wasteledger.exchange.journal import BadExport, read_export
from wasteledger.exchange.tables import _safe
from wasteledger.ledger.chain import body_text, canonical
from wasteledger.model.entries import KINDS, BodyNotUnderstood, Correction, Remark, read_body
from wasteledger.model.values import Body, Party


@given(awkward_text())
def test_text_that_is_taken_can_be_written_and_read_again(text: str) -> None:
    for make in (
        lambda: Remark(text=text),
        lambda: Remark(text="x", note=text),
        lambda: Correction(corrects=1, action="void", reason=text),
    ):
        try:
            body: Body = make()
        except ValidationError:
            continue
        written = body_text(body)
        assert unicodedata.is_normalized("NFC", written)
        assert read_body(body.KIND, body.VERSION, written) == body


@given(awkward_text())
def test_a_line_that_is_taken_is_one_line(text: str) -> None:
    try:
        party = Party(ref="a", name=text, phone=text)
    except ValidationError:
        return
    assert party.name == party.phone
    assert len(party.name.splitlines()) == 1
    assert Party.model_validate_json(party.model_dump_json()) == party


@given(bodies())
def test_a_body_is_read_back_as_it_was_written(body: Body) -> None:
    assert read_body(body.KIND, body.VERSION, body_text(body)) == body


@given(masses())
def test_the_variance_of_a_reading_is_a_whole_number_of_twelfths(mass_mg: int) -> None:
    reading = a_reading(mass_mg)

    assert reading.twelfths_mg2 == reading.readability_mg**2 + 4 * reading.tolerance_mg**2


def json_values() -> st.SearchStrategy[Any]:
    """Anything that JSON can hold, and some things that it should not."""
    leaves = st.none() | st.booleans() | st.integers(-(2**60), 2**60) | st.floats() | awkward_text()
    return st.recursive(
        leaves,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
        max_leaves=12,
    )


@given(json_values())
def test_what_is_canonical_reads_back_and_is_canonical_again(value: Any) -> None:
    try:
        written = canonical(value)
    except WasteLedgerError:
        return
    again = json.loads(written)
    assert again == value
    assert canonical(again) == written
    # Without floats, and with ASCII names, Python's own sorted JSON is the same text.
    assert written.decode() == json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


@given(st.sampled_from(sorted(KINDS)), json_values())
def test_no_body_raises_anything_but_our_own_refusal(kind: str, value: Any) -> None:
    try:
        text = json.dumps(value)
    except ValueError:
        return
    with suppress(BodyNotUnderstood):
        read_body(kind, 1, text)


@given(st.lists(st.binary(max_size=80) | json_values().map(lambda value: json.dumps(value).encode()), max_size=5))
def test_no_export_raises_anything_but_our_own_refusal(lines: list[bytes]) -> None:
    with pytest.raises(BadExport) as refused:
        read_export(lines)

    assert len(refused.value.findings) == max(len(lines), 1)


@given(awkward_text())
def test_no_cell_begins_a_formula_and_the_text_comes_back(text: str) -> None:
    cell = _safe(text)

    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert cell in (text, f"'{text}")
    assert (cell == text) == (not text.startswith(("=", "+", "-", "@", "\t", "\r", "'")))
