"""A damaged ordinance file is read or refused, with lines; nothing else ever comes out."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from wasteledger import resources
from wasteledger.ordinance import BadOrdinance, Fault, read_ordinance

FEDERAL_TEXT = resources.find("ordinances/us-federal-dental.toml").read_text("utf-8")
FEDERAL_LINES = FEDERAL_TEXT.splitlines()
OTHER_VALUES = [
    "true",
    "5",
    "-1",
    '""',
    '"x"',
    "[]",
    "[1]",
    "{}",
    "{ days = 1 }",
    "1.5",
    "nan",
    "2026-01-01",
    "07:30:00",
]
KEY_LINES = [place for place, line in enumerate(FEDERAL_LINES) if line.split(" = ")[0].isidentifier() and " = " in line]


def faults_or_none(text: str) -> tuple[Fault, ...]:
    try:
        read_ordinance(text)
    except BadOrdinance as refused:
        return refused.faults
    return ()


@given(st.sampled_from(KEY_LINES), st.sampled_from(OTHER_VALUES))
def test_any_value_anywhere_is_read_or_refused_with_a_line(place: int, value: str) -> None:
    key = FEDERAL_LINES[place].split(" = ")[0]

    faults = faults_or_none("\n".join([*FEDERAL_LINES[:place], f"{key} = {value}", *FEDERAL_LINES[place + 1 :]]))

    assert all(fault.line and fault.problem and fault.accepted for fault in faults)


@given(st.sampled_from(KEY_LINES))
def test_any_line_left_out_is_read_or_refused_with_a_line(place: int) -> None:
    faults = faults_or_none("\n".join([*FEDERAL_LINES[:place], *FEDERAL_LINES[place + 1 :]]))

    assert all(fault.line and fault.problem and fault.accepted for fault in faults)


def test_key_that_must_be_there_is_missed_at_its_table() -> None:
    without_asks = FEDERAL_TEXT.replace("asks = ", "note = ", 1)

    assert [fault.key for fault in faults_or_none(without_asks)] == ["scope.asks"]
