"""The hashed bytes: what enters them, and what must not."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest

from tests.makers import Clinic, a_look, an_opening
from wasteledger.ledger.chain import GENESIS, NotHashable, body_text, canonical, digest_of, entry_bytes
from wasteledger.ledger.rows import entry_of, entry_values

FIELDS = [
    "body",
    "container",
    "door",
    "happened_at",
    "key",
    "kind",
    "pickup",
    "previous",
    "recorded_at",
    "recorded_by",
    "seq",
    "site",
    "trap",
    "version",
]


def test_names_are_sorted_and_nothing_is_spaced() -> None:
    assert (
        canonical({"b": [1, True, None], "a": {"d": "é", "c": -2}})
        == '{"a":{"c":-2,"d":"é"},"b":[1,true,null]}'.encode()
    )


@pytest.mark.parametrize(
    ("value", "place"),
    [
        (1.0, "entry: float"),
        ({"a": [0.5]}, r"entry\.a\[0\]: float"),
        (float("nan"), "entry: float"),
        (2**53, "too large"),
        (-(2**53), "too large"),
        ("e\u0301", "NFC"),
        ({"a": {"b": "e\u0301"}}, r"entry\.a\.b"),
        ({"é": 1}, "not ASCII"),
        ({1: "one"}, "not ASCII"),
        (b"bytes", "bytes"),
        ({1, 2}, "set"),
        ("\ud800", "surrogate"),
        ({"a": ["x\udfff"]}, r"entry\.a\[0\].*surrogate"),
    ],
)
def test_what_has_no_single_exact_form_is_refused_with_its_place(value: object, place: str) -> None:
    with pytest.raises(NotHashable, match=place):
        canonical(value)


def test_the_largest_whole_number() -> None:
    assert canonical([2**53 - 1, 1 - 2**53]) == b"[9007199254740991,-9007199254740991]"


def test_absent_values_are_left_out_of_a_body() -> None:
    assert json.loads(body_text(a_look())) == {
        "condition": "clogged",
        "left_to_dry": False,
        "on_paper": False,
        "trap": "1-HV",
    }


def test_the_hashed_object_has_these_fields_and_no_others(clinic: Clinic) -> None:
    entry = clinic.record(an_opening())

    hashed: dict[str, Any] = json.loads(entry_bytes(entry_values(entry)))

    assert sorted(hashed) == FIELDS
    assert hashed["container"] == "C-1"
    assert hashed["trap"] is None
    assert hashed["happened_at"] == "2026-03-02T15:00:00.000000Z"
    assert hashed["body"]["tare"]["mass_mg"] == 150_000


def test_each_entry_names_the_digest_of_the_one_before(clinic: Clinic) -> None:
    clinic.record(an_opening())
    entries = clinic.entries()

    assert [one.previous for one in entries] == [GENESIS, *(one.digest for one in entries[:-1])]
    assert all(one.digest == digest_of(entry_bytes(entry_values(one))) for one in entries)


def test_sha_256_is_the_standard_librarys() -> None:
    assert digest_of(b"abc") == hashlib.sha256(b"abc").hexdigest()


def test_an_entry_and_its_row_are_one(clinic: Clinic) -> None:
    for entry in clinic.entries():
        assert entry_of(entry_values(entry)) == entry
