"""Restorations by surfaces in a span of days: counts, spans, and days that would be counted twice."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pydantic import ValidationError

from tests.makers import some_procedures
from wasteledger.model.procedures import BySurfaces

MONDAY, FRIDAY = date(2026, 2, 23), date(2026, 2, 27)


def test_surfaces_are_counted_together_and_named_apart() -> None:
    counted = BySurfaces(one=1, two=2, three=3, four_or_more=4, unknown=5)

    assert counted.total == 15
    assert dict(counted.named) == {
        "1 surface": 1,
        "2 surfaces": 2,
        "3 surfaces": 3,
        "4 or more surfaces": 4,
        "surfaces not noted": 5,
    }
    assert BySurfaces().named == ()


def test_noughts_are_a_statement() -> None:
    nothing_done = some_procedures(removed=BySurfaces(), placed=BySurfaces())

    assert (nothing_done.removed.total, nothing_done.placed.total) == (0, 0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"last_on": date(2026, 2, 22)}, "before the first"),
        ({"last_on": date(2027, 2, 24)}, "at most 366 days"),
        ({"removed": {"one": -1}}, "greater than or equal to 0"),
        ({"removed": {"one": 1.0}}, "integer"),
        ({"removed": {"five": 1}}, "not permitted"),
        ({"room": "Room one"}, "pattern"),
    ],
)
def test_what_is_no_span_or_no_count_is_refused(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        some_procedures(**changes)


def test_a_year_is_the_longest_span() -> None:
    assert some_procedures(last_on=date(2027, 2, 23)).last_on == date(2027, 2, 23)


@pytest.mark.parametrize(
    ("first_on", "last_on", "overlaps"),
    [
        (date(2026, 2, 16), date(2026, 2, 22), False),
        (date(2026, 2, 16), MONDAY, True),
        (date(2026, 2, 25), date(2026, 2, 25), True),
        (date(2026, 2, 1), date(2026, 3, 1), True),
        (FRIDAY, date(2026, 3, 6), True),
        (date(2026, 2, 28), date(2026, 3, 6), False),
    ],
)
def test_a_day_counted_twice_is_seen_both_ways(first_on: date, last_on: date, overlaps: bool) -> None:
    week, other = some_procedures(), some_procedures(first_on=first_on, last_on=last_on)

    assert week.overlaps(other) is overlaps
    assert other.overlaps(week) is overlaps


def test_rooms_stand_beside_each_other_and_inside_the_practice() -> None:
    assert some_procedures(room="r1").overlaps(some_procedures(room="r1"))
    assert not some_procedures(room="r1").overlaps(some_procedures(room="r2"))
    assert some_procedures(room="r1").overlaps(some_procedures())
    assert some_procedures().overlaps(some_procedures(room="r2"))
