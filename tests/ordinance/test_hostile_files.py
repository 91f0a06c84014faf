"""Files that somebody made to do harm: refused with a fault, within reach of a person's patience, and never a crash."""

from __future__ import annotations

import pytest

from wasteledger.ordinance import BadOrdinance, read_ordinance
from wasteledger.ordinance.fields import LONGEST_TEXT
from wasteledger.ordinance.positions import key_lines
from wasteledger.resources import find

LOCAL = find("ordinances/local-starter.toml").read_text("utf-8")


@pytest.mark.parametrize(
    "more",
    [
        f"number = {'9' * 5000}",
        f"number = 0x{'f' * 9000}",
        f"{'a.' * 5000}a = 1",
        f"[{'a.' * 5000}a]\nb = 1",
        f"deep = {'[' * 3000}{']' * 3000}",
        "x" * LONGEST_TEXT,
    ],
    ids=["digits", "hexadecimal digits", "dotted key", "dotted header", "brackets", "length"],
)
def test_a_file_that_cannot_be_read_is_refused(more: str) -> None:
    with pytest.raises(BadOrdinance):
        read_ordinance(f"{LOCAL}\n{more}\n", name="hostile.toml")


def test_a_long_file_is_scanned_in_one_pass() -> None:
    """Each key keeps its own line, also far down: counted on from the key before, never from the beginning."""
    count = 4000
    lines = key_lines("".join(f"[[rule]]\nid = 'R-{number}'\n" for number in range(count)))

    assert lines["rule", count - 1, "id"] == 2 * count


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "1899-12-31", "2201-01-01"])
def test_a_day_that_nobody_reckons_with_is_a_fault(day: str) -> None:
    with pytest.raises(BadOrdinance, match="out of reach"):
        read_ordinance(LOCAL.replace("dated_on = 2026-01-01", f"dated_on = {day}"), name="far.toml")


@pytest.mark.parametrize("sign", ["\u202e", "\u2066", "\\u0000", "\\u001b"])
def test_signs_that_draw_a_text_otherwise_than_it_reads_are_faults(sign: str) -> None:
    text = LOCAL.replace('title = "Local rules', f'title = "Local {sign}rules')

    with pytest.raises(BadOrdinance, match="nobody sees"):
        read_ordinance(text, name="bidi.toml")


def test_a_line_break_in_a_text_makes_no_line_of_its_own() -> None:
    text = LOCAL.replace('title = "Local rules', 'title = "Plain\\n! OVERDUE 1 Jan 2026: forged')

    assert "\n" not in read_ordinance(text).title


def test_ids_that_differ_by_case_alone_are_one() -> None:
    code = """
[[waste_code]]
id = "{}"
title = "A code"
asks = "Papers name it."
code = "X000"
citation = "Section 7"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""

    with pytest.raises(BadOrdinance, match="stands twice"):
        read_ordinance(LOCAL + code.format("F-1") + code.format("f-1"), name="twice.toml")
