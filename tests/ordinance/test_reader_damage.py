"""A damaged ordinance file is read or refused, with lines; nothing else ever comes out."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from wasteledger import resources
from wasteledger.ordinance import BadOrdinance, Fault, read_ordinance

FEDERAL_TEXT = resources.find("ordinances/us-federal-dental.toml").read_text("utf-8")
# The starter filled in has every table and every key that a file may have.
STARTER_TEXT = re.sub(r"(?m)^#(?=[^ #])", "", resources.find("ordinances/local-starter.toml").read_text("utf-8"))
OTHER_VALUES = [
    "true",
    "5",
    "-1",
    '""',
    '"x"',
    "[]",
    "[1]",
    '["x", "y"]',
    "{}",
    "{ days = 1 }",
    '{ each = "02-29" }',
    "{ from = 2026-01-01 }",
    "1.5",
    "nan",
    "2026-01-01",
    "07:30:00",
]


def places() -> st.SearchStrategy[tuple[list[str], int]]:
    """A text as lines, and one of its lines that holds a key."""
    found = [
        (lines, place)
        for lines in (FEDERAL_TEXT.splitlines(), STARTER_TEXT.splitlines())
        for place, line in enumerate(lines)
        if line.split(" = ")[0].isidentifier() and " = " in line
    ]
    return st.sampled_from(found)


def faults_or_none(text: str) -> tuple[Fault, ...]:
    try:
        read_ordinance(text)
    except BadOrdinance as refused:
        return refused.faults
    return ()


@given(places(), st.sampled_from(OTHER_VALUES))
def test_any_value_anywhere_is_read_or_refused_with_a_line(at: tuple[list[str], int], value: str) -> None:
    lines, place = at
    key = lines[place].split(" = ")[0]

    faults = faults_or_none("\n".join([*lines[:place], f"{key} = {value}", *lines[place + 1 :]]))

    assert all(fault.line and fault.problem and fault.accepted for fault in faults)


@given(places())
def test_any_line_left_out_is_read_or_refused_with_a_line(at: tuple[list[str], int]) -> None:
    lines, place = at

    faults = faults_or_none("\n".join([*lines[:place], *lines[place + 1 :]]))

    assert all(fault.line and fault.problem and fault.accepted for fault in faults)


def test_undamaged_texts_read_clean() -> None:
    assert faults_or_none(FEDERAL_TEXT) == faults_or_none(STARTER_TEXT) == ()


def test_key_that_must_be_there_is_missed_at_its_table() -> None:
    without_asks = FEDERAL_TEXT.replace("asks = ", "note = ", 1)

    assert [fault.key for fault in faults_or_none(without_asks)] == ["scope.asks"]
